"""Why a haul stays behind, and what would let it be planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.planning.groups import slot_class
from logistics.domain.planning.loading import Chosen
from logistics.domain.planning.patterns import pattern_of
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.relaxing import (
    Again,
    Left,
    Retrial,
    cheapest_relaxation,
    hm,
)
from logistics.domain.planning.result import Unplanned
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.vehicle_classes import substitutes


def impossible_alone(
    problem: PlanProblem, groups: Sequence[SlotClass], index: int
) -> Unplanned | None:
    """The proof that no truck can drive even one trip of this haul on any day, if so."""
    haul = problem.hauls[index]
    if haul.mass_kg <= 0:
        return None
    if not groups:
        return Unplanned(
            index,
            haul.mass_kg,
            "no_truck",
            ("no truck is free on any day of the plan",),
            "Add a truck, or a day on which one is free.",
            proven=True,
        )
    able = [number for number, slots in enumerate(groups) if slots.trips[index]]
    if not able:
        barriers = {
            f"{slots.truck.name}: {problem.barrier(slots.truck, haul)}"
            for slots in groups
        }
        return Unplanned(
            index,
            haul.mass_kg,
            "no_suitable_truck",
            tuple(sorted(barriers)),
            _other_trucks(problem, index),
            proven=True,
        )
    if any(pattern_of(number, groups[number], (index,)) for number in able):
        return None
    reasons = tuple(sorted({_time_reason(groups[number], index) for number in able}))
    return Unplanned(
        index,
        haul.mass_kg,
        "no_time",
        reasons,
        _time_remedy(problem, groups, able, index),
        proven=True,
    )


def _other_trucks(problem: PlanProblem, index: int) -> str:
    """Kinds of trucks that would do, by the access cards of both places."""
    haul = problem.hauls[index]
    fits = [
        {own.kind.name for own in substitutes(problem.places[at].access, haul.cargo)}
        for at in (haul.origin, haul.destination)
    ]
    names = sorted(fits[0] & fits[1])
    kinds = f" Of the usual kinds these would do: {', '.join(names)}." if names else ""
    return (
        "Add a truck whose body, size and weight suit this haul, or widen the access."
        + kinds
    )


def _time_reason(slots: SlotClass, index: int) -> str:
    name = slots.truck.name
    loading, tipping = slots.steps[index]
    if not loading.windows:
        return f"{name}: the pickup is never open while the truck may be out"
    if not tipping.windows:
        return f"{name}: the drop is never open while the truck may be out"
    whole = _round_s(slots, index)
    if whole > slots.truck.max_shift_s:
        return (
            f"{name}: one trip with the way out and home takes {hm(whole)},"
            f" the longest shift is {hm(slots.truck.max_shift_s)}"
        )
    if whole > slots.latest:
        return (
            f"{name}: one trip with the way out and home takes {hm(whole)},"
            f" the truck is free for {hm(slots.latest)}"
        )
    return f"{name}: the opening hours of pickup and drop leave no room for the ride between"


def _time_remedy(
    problem: PlanProblem, groups: Sequence[SlotClass], able: Sequence[int], index: int
) -> str:
    """The smallest change of one truck's day that would admit a trip, found by trying."""
    for extra in (1800, 3600, 7200, 10800, 14400):
        for number in able:
            for hours, shift in ((extra, 0), (0, extra), (extra, extra)):
                longer = _longer(problem, groups[number].slots[0], hours, shift)
                if not pattern_of(number, longer, (index,)):
                    continue
                parts = [f"{hm(hours)} more at either end of its day"] * bool(hours)
                parts += [f"{hm(shift)} more in its longest shift"] * bool(shift)
                return f"{' and '.join(parts)} would let {longer.truck.name} carry it."
    return "Widen the opening hours or the dates of the pickup or the drop."


def _longer(problem: PlanProblem, slot: int, hours: int, shift: int) -> SlotClass:
    """A slot with a longer day, of a truck with a longer shift."""
    old = problem.slots[slot]
    slots, trucks = list(problem.slots), list(problem.trucks)
    slots[slot] = replace(old, earliest=old.earliest - hours, latest=old.latest + hours)
    trucks[old.truck] = replace(
        trucks[old.truck], max_shift_s=trucks[old.truck].max_shift_s + shift
    )
    return slot_class(
        replace(problem, slots=tuple(slots), trucks=tuple(trucks)), (slot,)
    )


def left_behind(  # noqa: PLR0913
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    driven: Chosen,
    left: Sequence[int],
    cost: int,
    again: Again | None,
    *,
    proven: bool,
) -> list[Unplanned]:
    """Hauls of which a part stays behind because trucks' days or places are used up.

    Without `again` nothing is said of what would help.
    """
    found = []
    retrial = Retrial(again) if again else None
    for index, kg in enumerate(left):
        if not kg:
            continue
        able = sum(len(slots.slots) for slots in groups if slots.trips[index])
        tried = "no plan carries" if proven else "no plan was found that carries"
        reasons = [
            f"the trucks that may carry it have {able} truck days, and {tried} more"
            " with them",
            *_limits_met(problem, index),
        ]
        help_ = retrial and cheapest_relaxation(
            problem, driven, index, Left(kg, cost), retrial
        )
        if help_:
            remedy = f"What costs least of what was tried: {help_.text}."
        else:
            remedy = "Add a truck or a day, or widen hours and limits of the places."
        found.append(
            Unplanned(
                index,
                kg,
                "no_time_left",
                tuple(reasons),
                remedy,
                proven=proven,
                adds=help_.adds if help_ else None,
            )
        )
    return found


def _limits_met(problem: PlanProblem, index: int) -> list[str]:
    """The limits beside truck days that bind a haul, in words."""
    haul = problem.hauls[index]
    found = []
    for where in sorted({haul.origin, haul.destination}):
        place = problem.places[where]
        if place.loads_a_day is not None:
            found.append(f"{place.name} takes {place.loads_a_day} loads a day")
        if place.at_once is not None:
            found.append(f"{place.name} serves {place.at_once} trucks at once")
    found += [
        f"{store.name} has room for {max(room for _, room in store.room_m3):.1f} m3"
        for store in problem.stores
        if index in store.hauls and store.room_m3
    ]
    return found


def _round_s(slots: SlotClass, index: int) -> int:
    return (
        slots.out_s[index]
        + slots.ride_s[index]
        + slots.work_s[index]
        + slots.home_s[index]
    )
