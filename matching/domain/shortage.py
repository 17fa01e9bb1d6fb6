"""What is missing when not every need can be met, and what would help most nearly."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logistics.domain.trucks import Cargo
from matching.domain.blends import BlendWindow, clay_of
from matching.domain.materials import Offer, Subsoil
from matching.domain.pairing import Candidate, Pairing
from matching.domain.scenario import Scenario
from matching.domain.verdicts import Standing

LEAST_SHORT = 1.0
"""Dry kg: less is the solver's rounding."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """`dry_kg` of a demand is missing; `reason` and `help` are for people."""

    demand: int
    dry_kg: float
    reason: str
    help: tuple[str, ...]


def shortages(
    scenario: Scenario,
    pairing: Pairing,
    short: tuple[float, ...],
    *,
    market: tuple[float, ...],
) -> tuple[Shortage, ...]:
    """The demands that stay short, each with its reason.

    `market` is what would be short if trucks had all the time in the world.
    """
    return tuple(
        _out_of_time(scenario, number, dry_kg)
        if dry_kg > market[number] + 1
        else Shortage(
            number,
            dry_kg,
            _reason(scenario, pairing, number, dry_kg),
            _help(scenario, pairing, number),
        )
        for number, dry_kg in enumerate(short)
        if dry_kg > LEAST_SHORT
    )


def _out_of_time(scenario: Scenario, number: int, dry_kg: float) -> Shortage:
    what = " and ".join(sorted(scenario.demands[number].cargoes))
    return Shortage(
        number,
        dry_kg,
        f"{dry_kg / 1000:.2f} t (dry) of {what} short: it is on offer, but the trucks have"
        f" no time left for it in their {len(scenario.slots)} days",
        ("Another day, another truck or longer hours would bring more.",),
    )


def _reason(scenario: Scenario, pairing: Pairing, number: int, dry_kg: float) -> str:
    demand = scenario.demands[number]
    what = " and ".join(sorted(demand.cargoes))
    tonnes = f"{dry_kg / 1000:.2f} t (dry) of {what}"
    own = [
        scenario.offers[pair.offer] for pair in pairing.pairs if pair.demand == number
    ]
    if not own:
        barred = [
            c
            for c in pairing.candidates
            if c.demand == number and c.verdict.usable and c.barrier
        ]
        if any((c.metres or 0) <= scenario.reach_m for c in barred):
            return f"{tonnes} short: fit offers are within reach, but cannot be brought"
        return f"{tonnes} short: no fit offer is within reach"
    supply = sum(offer.quantity_kg * offer.material.usable for offer in own)
    if demand.blend is None or supply + 1 < demand.dry_kg:
        return f"{tonnes} short: the fit offers within reach hold too little"
    return f"{tonnes} short: {_no_blend(demand.blend, own)}"


def _no_blend(window: BlendWindow, own: list[Offer]) -> str:
    """Why what is in reach cannot be blended into the window."""
    lean, rich, fine = zip(
        *(window.excesses(offer.material) for offer in own), strict=True
    )
    if all(not isinstance(offer.material, Subsoil) for offer in own):
        return "there is sand, but no soil in reach that may be used as it stands"
    if min(lean) > 0:
        richest = max((clay_of(offer.material).likely, offer.name) for offer in own)
        return (
            f"no soil in reach has the clay to bring the mix to {window.words}; the"
            f" richest is {richest[1]} with {richest[0] * 100:.0f} %"
        )
    if min(rich) > 0:
        return f"everything in reach is too rich for {window.words}; sand is missing"
    if min(fine) > 0:
        return f"everything in reach is too silty for {window.words}; sand is missing"
    if window.safe and _would_do(replace(window, safe=False), own):
        return (
            f"the likely figures would do, but not {window.words}: the ranges are too"
            " wide; a better test of the soils would narrow them"
        )
    return f"no blend of what is in reach keeps {window.words} for more than is planned"


def _would_do(window: BlendWindow, own: list[Offer]) -> bool:
    return all(
        min(excesses) <= 0
        for excesses in zip(
            *(window.excesses(offer.material) for offer in own), strict=True
        )
    )


def _help(scenario: Scenario, pairing: Pairing, number: int) -> tuple[str, ...]:
    """The nearest offers that would do if one thing about them changed."""
    own = [c for c in pairing.candidates if c.demand == number]
    lines = []
    for candidate in sorted(own, key=lambda c: (c.metres is None, c.metres, c.offer)):
        line = _almost(scenario, candidate)
        if line:
            lines.append(line)
    if Cargo.SUBSOIL in scenario.demands[number].cargoes or not lines:
        lines.append(
            "Larger quantities, a later date or a wider reach may bring more offers."
        )
    return tuple(lines[:4])


def _almost(scenario: Scenario, candidate: Candidate) -> str | None:
    offer = scenario.offers[candidate.offer]
    where = (
        "" if candidate.metres is None else f", {candidate.metres / 1000:.1f} km away"
    )
    if candidate.verdict.standing is Standing.NOT_UNTIL:
        reason = candidate.verdict.reasons[0]
        return f"{offer.name}{where}, would do with {reason.wanted}."
    if candidate.verdict.usable and candidate.barrier:
        return f"{offer.name}{where}, is fit but out: {candidate.barrier}."
    return None
