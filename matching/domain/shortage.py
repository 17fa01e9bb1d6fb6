"""What is missing when not every need can be met, and what would help most nearly."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.trucks import Cargo
from matching.domain.fitness import Standing
from matching.domain.pairing import Candidate, Pairing
from matching.domain.scenario import Scenario


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
        if dry_kg > 1
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
    if demand.clay is None or supply + 1 < demand.dry_kg:
        return f"{tonnes} short: the fit offers within reach hold too little"
    low, high = demand.clay
    clays = [offer.clay_share for offer in own]
    window = f"{low * 100:.0f} to {high * 100:.0f} % clay"
    if max(clays) < low:
        return f"{tonnes} short: no soil in reach has the clay to bring the mix to {window}"
    if min(clays) > high:
        return f"{tonnes} short: everything in reach is too rich for {window}; sand is missing"
    return f"{tonnes} short: no blend of what is in reach keeps {window} for more than is planned"


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
