"""The stored form of values that have no table of their own: plain JSON, read back exactly.

Only what this module wrote may be read by it: input from people is checked elsewhere.
"""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from logistics.domain.trucks import Cargo
from matching.domain.materials import Material, Sand, Straw, Subsoil, cargo
from matching.domain.requests import PlanRequest
from matching.domain.takeoff import MixTarget
from matching.domain.walls.wall import Opening

Stored = dict[str, Any]

_MATERIALS: dict[Cargo, TypeAdapter[Any]] = {
    Cargo.SUBSOIL: TypeAdapter(Subsoil),
    Cargo.SAND: TypeAdapter(Sand),
    Cargo.STRAW: TypeAdapter(Straw),
}
_MIX = TypeAdapter(MixTarget)
_REQUEST = TypeAdapter(PlanRequest)
_OPENINGS = TypeAdapter(tuple[Opening, ...])


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


def dump_openings(openings: tuple[Opening, ...]) -> list[Stored]:
    """The openings of a wall."""
    stored: list[Stored] = _OPENINGS.dump_python(openings, mode="json")
    return stored


def load_openings(stored: list[Stored]) -> tuple[Opening, ...]:
    """The openings of a wall."""
    return _OPENINGS.validate_python(stored)


def dump_request(request: PlanRequest) -> Stored:
    """A plan request."""
    stored: Stored = _REQUEST.dump_python(request, mode="json")
    return stored


def load_request(stored: Stored) -> PlanRequest:
    """A plan request."""
    return _REQUEST.validate_python(stored)
