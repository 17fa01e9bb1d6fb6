"""A truck against the access card of a place, line by line and in words.

HSE (hse.gov.uk/workplacetransport/information/tipping.htm): tip only where the ground is
level, firm and clear overhead; no power cables above.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from logistics.domain.places import AccessLimits, Firmness

MOST_SLOPE_PERCENT = 5.0
"""Steepest ground on which a body is raised; common practice, no source (HSE: level)."""
ANY_TRUCK_TURNS_M = 25.0
"""Directive 96/53/EC, annex I 1.5: every truck turns within an outer radius of 12.5 m."""


class Sized(Protocol):
    """What is compared of a vehicle; None where it is not known."""

    @property
    def tare_kg(self) -> int | None:
        """Empty mass."""

    @property
    def height_m(self) -> float | None:
        """Outer height, body down."""

    @property
    def width_m(self) -> float | None:
        """Outer width."""

    @property
    def length_m(self) -> float | None:
        """Outer length."""

    @property
    def turning_m(self) -> float | None:
        """Diameter of the turning circle."""

    @property
    def tip_height_m(self) -> float | None:
        """Height with the body raised, or of a grab at work."""

    @property
    def raises(self) -> bool:
        """Whether it raises a body or an arm to unload."""

    @property
    def farm(self) -> bool:
        """Whether a tractor pulls it."""

    def heaviest_axle_kg(self, load_kg: int) -> float | None:
        """What the heaviest axle carries under a load."""


class LineState(StrEnum):
    """What came of one line."""

    OK = "ok"
    FAILS = "fails"
    UNKNOWN = "not_known"


@dataclass(frozen=True, slots=True)
class AccessLine:
    """One line of an access card and what came of it. `words` go on from "the truck"."""

    line: str
    state: LineState
    words: str


def compare(
    vehicle: Sized, access: AccessLimits, load_kg: int
) -> tuple[AccessLine, ...]:
    """All lines of the card, those of the way in first. A line of which the card says
    nothing is not known; those of the tipping place are left out for an empty truck."""
    lines = [_gross(vehicle, access, load_kg), _axle(vehicle, access, load_kg)]
    lines += _outer(vehicle, access)
    lines.append(_turning(vehicle, access))
    if load_kg > 0:
        lines += _tipping(vehicle, access)
    return tuple(lines)


def _gross(vehicle: Sized, access: AccessLimits, load_kg: int) -> AccessLine:
    limit = access.max_gross_kg
    if limit is None:
        return _unknown("gross weight", "the place gives no limit on gross weight")
    gross = (vehicle.tare_kg or 0) + load_kg
    words = f"weighs {gross / 1000:.1f} t, the limit is {limit / 1000:.1f} t"
    if gross > limit:
        return AccessLine("gross weight", LineState.FAILS, words)
    if vehicle.tare_kg is None:
        words = (
            f"has an empty mass that is not known, the limit is {limit / 1000:.1f} t"
        )
        return _unknown("gross weight", words)
    return AccessLine("gross weight", LineState.OK, words)


def _axle(vehicle: Sized, access: AccessLimits, load_kg: int) -> AccessLine:
    limit = access.max_axle_kg
    if limit is None:
        return _unknown("axle weight", "the place gives no limit on axle weight")
    axle = vehicle.heaviest_axle_kg(load_kg)
    if axle is None:
        words = (
            f"has axle weights that are not known, the limit is {limit / 1000:.1f} t"
        )
        return _unknown("axle weight", words)
    words = f"has {axle / 1000:.1f} t on an axle, the limit is {limit / 1000:.1f} t"
    # A load cut to the limit may miss it by what rounding leaves.
    return _settled("axle weight", words, keeps=axle <= limit + 0.5)


def _outer(vehicle: Sized, access: AccessLimits) -> Iterator[AccessLine]:
    for line, word, size, limit in (
        ("height", "high", vehicle.height_m, access.max_height_m),
        ("width", "wide", vehicle.width_m, access.max_width_m),
        ("length", "long", vehicle.length_m, access.max_length_m),
    ):
        if limit is None:
            yield _unknown(line, f"the place gives no limit on {line}")
        elif size is None:
            words = f"has a {line} that is not known, the limit is {limit:.2f} m"
            yield _unknown(line, words)
        else:
            words = f"is {size:.2f} m {word}, the limit is {limit:.2f} m"
            yield _settled(line, words, keeps=size <= limit)


def _turning(vehicle: Sized, access: AccessLimits) -> AccessLine:
    room, needs = access.turning_m, vehicle.turning_m
    if room is None:
        return _unknown("turning room", "the place does not say how much room there is")
    if needs is not None:
        words = f"turns in {needs:.1f} m, there is room for {room:.1f} m"
        return _settled("turning room", words, keeps=needs <= room)
    if room >= ANY_TRUCK_TURNS_M:
        words = f"has {room:.1f} m to turn, where {ANY_TRUCK_TURNS_M:g} m do for any"
        return AccessLine("turning room", LineState.OK, words)
    words = f"has a turning circle that is not known, there is room for {room:.1f} m"
    return _unknown("turning room", words)


def _tipping(vehicle: Sized, access: AccessLimits) -> Iterator[AccessLine]:
    yield _ground(vehicle, access.firmness)
    if not vehicle.raises:
        yield AccessLine("tipping", LineState.OK, "raises no body to unload")
        return
    yield _slope(access.slope_percent)
    yield _overhead(vehicle, access)


def _ground(vehicle: Sized, firmness: Firmness | None) -> AccessLine:
    if firmness is None:
        return _unknown("ground", "the place does not say how firm the ground is")
    if firmness is Firmness.HARD:
        return AccessLine("ground", LineState.OK, "stands on hard ground")
    if firmness is Firmness.FIRM_WHEN_DRY:
        words = "stands on ground that is firm only when dry: ask after rain"
        return _unknown("ground", words)
    if vehicle.farm:
        words = "comes behind a tractor onto soft ground: raise no body there"
        return _unknown("ground", words)
    return AccessLine(
        "ground", LineState.FAILS, "would sink or overturn on soft ground"
    )


def _slope(slope: float | None) -> AccessLine:
    if slope is None:
        return _unknown("slope", "the place does not say how level it is")
    words = f"tips on a slope of {slope:g} %, the most is {MOST_SLOPE_PERCENT:g} %"
    return _settled("slope", words, keeps=abs(slope) <= MOST_SLOPE_PERCENT)


def _overhead(vehicle: Sized, access: AccessLimits) -> AccessLine:
    line, needs, clear = "overhead", vehicle.tip_height_m, access.clear_height_m
    if access.wires:
        words = "would raise its body under or beside overhead wires"
        return AccessLine(line, LineState.FAILS, words)
    if clear is not None and needs is not None:
        words = f"reaches {needs:.1f} m with its body raised, {clear:.1f} m are clear"
        return _settled(line, words, keeps=needs <= clear)
    if clear is not None:
        words = f"has a raised height that is not known, {clear:.1f} m are clear"
        return _unknown(line, words)
    if access.wires is None:
        return _unknown(line, "the place does not say what hangs above it")
    return AccessLine(line, LineState.OK, "raises its body where no wires hang")


def _settled(line: str, words: str, *, keeps: bool) -> AccessLine:
    return AccessLine(line, LineState.OK if keeps else LineState.FAILS, words)


def _unknown(line: str, words: str) -> AccessLine:
    return AccessLine(line, LineState.UNKNOWN, words)
