"""The rows that make a choice of patterns carry every haul.

Part loads: of N trips that can hold the least chargeless load b, p pay and may be as small
as a piece u, N - p hold at least b; S smaller trips always pay and that is in their fee. The
masses can be cut like that exactly if (N - p) b + (p + S) u <= mass carried, because every
load may then be filled up piece by piece. So one row for each haul prices it, and mixed
fleets are exact too.

Where nothing stays behind, each haul gets rounding cuts as well: with g the size of a full
load of one truck, whole trips must make up ceil(mass / g) loads of size g, a trip of a
truck of capacity c counting ceil(c / g) (Chvatal-Gomory). They are what makes the
relaxation tight, because it can no longer drive 0.3 of a trip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logistics.domain.planning.problem import Haul, PlanProblem
from logistics.domain.planning.shifts import SlotClass


@dataclass(frozen=True)
class Row:
    """sum(weight[group] for each trip of the haul) + left * kg + part * p >= need.

    Without a haul the weight counts shifts instead of trips.
    """

    haul: int | None
    weight: tuple[float, ...]
    need: float
    left: float = 0.0
    part: float = 0.0


def least_chargeless(haul: Haul) -> int:
    """The lightest load in whole pieces that pays no part-load charge."""
    return -(-haul.part_load.below_kg // haul.unit_kg) * haul.unit_kg


def _rows_of_haul(
    index: int, haul: Haul, groups: Sequence[SlotClass], *, cuts: bool
) -> list[Row]:
    sizes = [min(group.capacity[index], haul.mass_kg) for group in groups]
    rows = [Row(index, tuple(map(float, sizes)), haul.mass_kg, left=1.0)]
    if cuts:
        rows += [
            Row(
                index,
                tuple(float(-(-own // size)) for own in sizes),
                -(-haul.mass_kg // size),
            )
            for size in sorted({size for size in sizes if size})
        ]
    enough, piece = least_chargeless(haul), haul.unit_kg
    if haul.part_load.charge > 0 and enough > piece:
        weight = tuple(
            -float(enough if group.capacity[index] >= enough else piece)
            if group.capacity[index]
            else 0.0
            for group in groups
        )
        rows.append(Row(index, weight, -haul.mass_kg, left=-1.0, part=enough - piece))
    return rows


def cover_rows(
    problem: PlanProblem, groups: Sequence[SlotClass], *, cuts: bool
) -> list[Row]:
    """Rows that carry the hauls; `cuts` only where nothing may stay behind."""
    return [
        row
        for index, haul in enumerate(problem.hauls)
        if haul.mass_kg > 0
        for row in _rows_of_haul(index, haul, groups, cuts=cuts)
    ]


def fewest_part_loads(index: int, haul: Haul, groups: Sequence[SlotClass]) -> int:
    """Charged loads, of trucks that could avoid the charge, in any way to carry it all."""
    enough, piece = least_chargeless(haul), haul.unit_kg
    if haul.part_load.charge <= 0 or enough <= piece:
        return 0
    large = max((g.capacity[index] for g in groups if g.trips[index]), default=0)
    if large < enough:
        return 0
    # A smaller truck's trip only takes room from the others, unless it helps them.
    small = max(
        (g.capacity[index] for g in groups if 0 < g.capacity[index] < enough), default=0
    )
    fewest = None
    for trips in range(-(-haul.mass_kg // large) + 1):
        rest = max(0, haul.mass_kg - trips * large)
        if rest and not small:
            continue
        others = -(-rest // small) if rest else 0
        over = trips * enough + others * piece - haul.mass_kg
        paying = max(0, -(-over // (enough - piece)))
        fewest = paying if fewest is None else min(fewest, paying)
    return fewest or 0
