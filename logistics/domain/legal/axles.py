"""The axles of a truck: where they are, what they do, and what falls on them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from logistics.domain.errors import Refused, refuse

MOST_AXLES = 12


@dataclass(frozen=True, slots=True)
class Axle:
    """One axle, `at_m` metres behind the first. `tare_kg` is what it carries empty."""

    at_m: float
    steered: bool = False
    driven: bool = False
    twin_tyres: bool = False
    tare_kg: int | None = None


@dataclass(frozen=True, slots=True)
class AxleLayout:
    """The axles of a truck from front to back, those of its trailer included.

    The last `trailer_axles` belong to a trailer; `kingpin_m` is where a semi-trailer rests
    on its tractor (None: a rigid truck, or a trailer on a drawbar). `body_centre_m` is the
    middle of the body. Both are metres behind the first axle. `road_friendly`: the driving
    axles have air suspension or what is recognised as its equal. `tare_kg` is the empty
    mass with driver, where the axles do not say it.

    Raises Refused for fewer than two axles, for axles out of order, and where the tare is
    missing or said twice and differently.
    """

    axles: tuple[Axle, ...]
    tare_kg: int
    road_friendly: bool = False
    trailer_axles: int = 0
    kingpin_m: float | None = None
    body_centre_m: float | None = None

    def __post_init__(self) -> None:
        if not 2 <= len(self.axles) <= MOST_AXLES:
            raise _bad_axles(
                f"{len(self.axles)} axles",
                "a truck has two axles or more",
                f"Give 2 to {MOST_AXLES} axles, those of the trailer included.",
            )
        if self.axles[0].at_m != 0:
            raise refuse(
                "axles_out_of_order",
                field="axles.0.at_m",
                given=self.axles[0].at_m,
                message="all is measured from the first axle",
                remedy="Give 0 for the first axle, and metres behind it for the others.",
            )
        for number, (ahead, behind) in enumerate(pairwise(self.axles), 1):
            if not 0.5 <= behind.at_m - ahead.at_m <= 20:
                raise refuse(
                    "axles_out_of_order",
                    field=f"axles.{number}.at_m",
                    given=f"{behind.at_m:g} after {ahead.at_m:g}",
                    message="each axle stands 0.5 to 20 m behind the one before",
                    remedy="Give metres behind the first axle, from front to back.",
                )
        if not 0 <= self.trailer_axles < len(self.axles):
            raise refuse(
                "trailer_without_truck",
                field="trailer_axles",
                given=self.trailer_axles,
                message="at least one axle belongs to the truck itself",
                remedy="Count only the axles of the trailer.",
            )
        if self.kingpin_m is not None and not self.trailer_axles:
            raise refuse(
                "kingpin_without_trailer",
                field="kingpin_m",
                given=self.kingpin_m,
                message="a truck without trailer axles has no kingpin",
                remedy="Give trailer_axles, or leave kingpin_m out.",
            )

    @property
    def own(self) -> tuple[Axle, ...]:
        """The axles of the motor vehicle."""
        return self.axles[: len(self.axles) - self.trailer_axles]

    @property
    def driven_twins(self) -> bool:
        """Every driving axle has twin tyres."""
        driven = [axle for axle in self.own if axle.driven]
        return bool(driven) and all(axle.twin_tyres for axle in driven)

    def length_m(self, first: int, last: int) -> float:
        """Distance between the centres of two axles."""
        return self.axles[last].at_m - self.axles[first].at_m

    @property
    def axle_tares(self) -> tuple[int, ...] | None:
        """What each axle carries empty, None unless it is known of all."""
        tares = [axle.tare_kg for axle in self.axles if axle.tare_kg is not None]
        return tuple(tares) if len(tares) == len(self.axles) else None

    @property
    def load_shares(self) -> tuple[float, ...] | None:
        """Which part of a load in the middle of the body each axle carries, by levers.

        Axles on one side of the longest gap share alike what comes to them. None where the
        body's middle is not known, and for trailers on a drawbar.
        """
        if self.body_centre_m is None:
            return None
        if not self.trailer_axles:
            return _levered([axle.at_m for axle in self.axles], self.body_centre_m)
        if self.kingpin_m is None:
            return None
        behind = [axle.at_m for axle in self.axles[len(self.own) :]]
        rear = sum(behind) / len(behind)
        if rear - self.kingpin_m < 0.5:
            return None
        on_pin = (rear - self.body_centre_m) / (rear - self.kingpin_m)
        front = _levered([axle.at_m for axle in self.own], self.kingpin_m)
        return (
            *(share * on_pin for share in front),
            *((1 - on_pin) / len(behind) for _ in behind),
        )


def _levered(at: list[float], point: float) -> tuple[float, ...]:
    """What each axle carries of a mass at a point."""
    if len(at) == 1:
        return (1.0,)
    gaps = [behind - ahead for ahead, behind in pairwise(at)]
    split = gaps.index(max(gaps)) + 1
    front, rear = sum(at[:split]) / split, sum(at[split:]) / (len(at) - split)
    back = (point - front) / (rear - front)
    return (
        *((1 - back) / split for _ in at[:split]),
        *(back / (len(at) - split) for _ in at[split:]),
    )


def whole_tare(axles: tuple[Axle, ...], tare_kg: int | None) -> int:
    """The empty mass, from the axles if they all say it.

    Raises Refused where it is not known, or said twice and differently.
    """
    tares = [axle.tare_kg for axle in axles if axle.tare_kg is not None]
    if len(tares) < len(axles):
        if tare_kg is None:
            raise refuse(
                "tare_unknown",
                field="tare_kg",
                given="none",
                message="what a truck may carry is its gross limit less its empty mass",
                remedy="Give tare_kg, or the tare_kg of every axle.",
            )
        return tare_kg
    if tare_kg is not None and tare_kg != sum(tares):
        raise refuse(
            "tares_differ",
            field="tare_kg",
            given=f"{tare_kg}, axles {sum(tares)}",
            message="the axles together do not weigh what the truck weighs",
            remedy="Give the same mass, or leave one of them out.",
        )
    return sum(tares)


def _bad_axles(given: str, message: str, remedy: str) -> Refused:
    return refuse(
        "axles_missing", field="axles", given=given, message=message, remedy=remedy
    )
