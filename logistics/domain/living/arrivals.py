"""What really came of a load: accepted with an amount, or refused with a reason.

The checklist follows what a receiver is told to look for at the gate: brick, concrete,
wood, asbestos, plastic, stain, odour (New South Wales and Camden council leaflets on fill,
seen quoted). A visible fragment that could be asbestos stops the load, always.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from logistics.domain.errors import Problem, Refused


class Finding(StrEnum):
    """What was found when a load was looked at."""

    FINE = "fine"
    WRONG = "wrong"
    NOT_LOOKED = "not_looked"


class Reason(StrEnum):
    """Why a load was turned away."""

    WRONG_MATERIAL = "wrong_material"
    TOO_WET = "too_wet"
    DEBRIS = "debris"
    SMELL = "smell"
    SUSPECT_ASBESTOS = "suspect_asbestos"
    NO_ACCESS = "no_access"
    NOBODY_THERE = "nobody_there"
    OTHER = "other"


REASON_WORDS: dict[Reason, str] = {
    Reason.WRONG_MATERIAL: "not the material that was agreed",
    Reason.TOO_WET: "too wet",
    Reason.DEBRIS: "debris, roots or topsoil in it",
    Reason.SMELL: "it smells of fuel, solvent or rot",
    Reason.SUSPECT_ASBESTOS: "something in it could be asbestos",
    Reason.NO_ACCESS: "the truck could not get in or tip",
    Reason.NOBODY_THERE: "nobody was there to receive it",
    Reason.OTHER: "another reason",
}


@dataclass(frozen=True, slots=True)
class GateCheck:
    """What somebody saw at the gate, before the truck tipped."""

    look: Finding = Finding.NOT_LOOKED
    smell: Finding = Finding.NOT_LOOKED
    debris: Finding = Finding.NOT_LOOKED
    asbestos_suspect: bool = False

    @property
    def wrong(self) -> bool:
        """Whether anything speaks against the load."""
        found = (self.look, self.smell, self.debris)
        return self.asbestos_suspect or Finding.WRONG in found


@dataclass(frozen=True, slots=True)
class Arrival:
    """The record of a load at the gate, `at` in seconds UTC.

    An accepted load has its moist mass, by weighbridge, or its loose volume. A refused one
    has a reason; `comes_again` says whether its mass is still wanted. Raises Refused
    "amount_missing", "reason_missing", "suspect_asbestos" or "load_in_doubt".
    """

    accepted: bool
    at: int
    moist_kg: int | None = None
    loose_m3: float | None = None
    vehicle: str = ""
    reason: Reason | None = None
    check: GateCheck = field(default_factory=GateCheck)
    comes_again: bool = True

    def __post_init__(self) -> None:
        problem = self._wrong()
        if problem:
            raise Refused(problem)

    def _wrong(self) -> Problem | None:
        if not self.accepted:
            return None if self.reason else _NO_REASON
        if self.check.asbestos_suspect:
            return _ASBESTOS
        if self.check.wrong:
            return _DOUBT
        if not (self.moist_kg or 0) > 0 and not (self.loose_m3 or 0) > 0:
            return _NO_AMOUNT
        return None

    def kg(self, loose_kg_per_m3: float) -> int:
        """Moist mass that came: as weighed, else from the volume at the planned density."""
        if not self.accepted:
            return 0
        if self.moist_kg:
            return self.moist_kg
        return round((self.loose_m3 or 0.0) * loose_kg_per_m3)


_NO_REASON = Problem(
    "reason_missing",
    "reason",
    "nothing",
    "a refused load needs a reason",
    "Say why it was turned away.",
)
_NO_AMOUNT = Problem(
    "amount_missing",
    "moist_kg",
    "nothing",
    "an accepted load needs its mass or its volume",
    "Give kg from the weighbridge ticket, or the loose m3 in the body.",
)
_ASBESTOS = Problem(
    "suspect_asbestos",
    "check.asbestos_suspect",
    "yes",
    "a load that could hold asbestos is never accepted",
    "Do not touch or tip it; refuse it and tell who loaded it.",
)
_DOUBT = Problem(
    "load_in_doubt",
    "check",
    "something is wrong with it",
    "a load that fails its check is not accepted",
    "Refuse it with a reason, or correct the check.",
)


@dataclass(frozen=True, slots=True, order=True)
class LoadAt:
    """A load of a plan: the number of its shift, and of its trip in there."""

    shift: int
    trip: int


@dataclass(frozen=True)
class Facts:
    """What nobody can change any more: what is recorded of loads, and the numbers of the
    shifts that somebody wants left as they are."""

    arrivals: Mapping[LoadAt, Arrival] = field(default_factory=dict)
    pinned: frozenset[int] = frozenset()
