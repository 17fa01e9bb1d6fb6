"""The stored form of values that have no table of their own: plain JSON, read back exactly.

Only what this module wrote may be read by it: input from people is checked elsewhere.
"""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from logistics.domain.trucks import Cargo
from matching.domain.lifts.schedule import Schedule
from matching.domain.materials import Material, Sand, Straw, Subsoil, cargo
from matching.domain.requests import PlanRequest
from matching.domain.takeoff import MixTarget
from matching.domain.walls.wall import Wall

Stored = dict[str, Any]

_MATERIALS: dict[Cargo, TypeAdapter[Any]] = {
    Cargo.SUBSOIL: TypeAdapter(Subsoil),
    Cargo.SAND: TypeAdapter(Sand),
    Cargo.STRAW: TypeAdapter(Straw),
}
_MIX = TypeAdapter(MixTarget)
_REQUEST = TypeAdapter(PlanRequest)
_WALL = TypeAdapter(Wall)
_SCHEDULE = TypeAdapter(Schedule)


def dump_material(material: Material) -> Stored:
    """A material without its kind, which is a column."""
    stored: Stored = _MATERIALS[cargo(material)].dump_python(material, mode="json")
    return stored


def load_material(kind: str, stored: Stored) -> Material:
    """A material of this kind."""
    material: Material = _MATERIALS[Cargo(kind)].validate_python(stored)
    return material


def dump_mix(mix: MixTarget) -> Stored:
    """A mix target."""
    stored: Stored = _MIX.dump_python(mix, mode="json")
    return stored


def load_mix(stored: Stored) -> MixTarget:
    """A mix target."""
    return _MIX.validate_python(stored)


def dump_wall(wall: Wall) -> Stored:
    """A wall with its run, top and openings."""
    stored: Stored = _WALL.dump_python(wall, mode="json")
    return stored


def load_wall(stored: Stored) -> Wall:
    """A wall."""
    return _WALL.validate_python(stored)


def dump_schedule(schedule: Schedule) -> Stored:
    """The calendar of a build."""
    stored: Stored = _SCHEDULE.dump_python(schedule, mode="json")
    return stored


def load_schedule(stored: Stored) -> Schedule:
    """The calendar of a build."""
    return _SCHEDULE.validate_python(stored)


def dump_request(request: PlanRequest) -> Stored:
    """A plan request."""
    stored: Stored = _REQUEST.dump_python(request, mode="json")
    return stored


def load_request(stored: Stored) -> PlanRequest:
    """A plan request."""
    return _REQUEST.validate_python(stored)
