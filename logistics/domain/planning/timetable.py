"""When each visit begins, where only so many trucks may stand at a place at once.

The order of the visits of each shift is laid down; their moments are found by constraint
programming (OR-Tools CP-SAT) so that trucks that would meet at a gate come one after the
other, at the least paid time. The search is bounded by deterministic work, not by the
clock, and runs on one thread: the same input gives the same timetable.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from logistics.domain.planning.groups import visit_windows
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.shifts import SlotClass
from logistics.domain.planning.tasks import visit_place

EFFORT = 20.0
"""Deterministic time of the solver for one day."""


@dataclass(frozen=True, slots=True)
class Call:
    """A visit within a shift: the way to it with cleaning and rest, and its work."""

    place: int
    gap_s: int
    service_s: int
    windows: tuple[Window, ...]


@dataclass(frozen=True, slots=True)
class Round:
    """The visits of one shift in their order, and the way to its end."""

    slot: int
    calls: tuple[Call, ...]
    home_s: int


@dataclass(frozen=True, slots=True)
class Clash:
    """A day on which the shifts cannot be laid out: a place that is too busy, and the
    seconds of work that were asked of it."""

    place: int
    day: str
    asked_s: int


def begins_of(
    problem: PlanProblem,
    groups: Sequence[SlotClass],
    chosen: Sequence[tuple[int, Pattern]],
) -> dict[int, list[int]] | Clash:
    """Begin of each visit of the shifts that meet others at a place, by slot.

    Slots that are not named keep their own time.
    """
    narrow = {
        number
        for number, place in enumerate(problem.places)
        if place.at_once is not None
    }
    days: dict[str, list[Round]] = {}
    for slot, pattern in chosen:
        if not pattern.tasks:
            continue
        own = _round(problem, groups[pattern.group], slot, pattern)
        if any(call.place in narrow for call in own.calls):
            days.setdefault(problem.slots[slot].day, []).append(own)
    found: dict[int, list[int]] = {}
    for day, rounds in sorted(days.items()):
        laid = _Day(problem, rounds, narrow).solve()
        if laid is None:
            return _busiest(rounds, narrow, day)
        found.update(laid)
    return found


def _round(
    problem: PlanProblem, slots: SlotClass, slot: int, pattern: Pattern
) -> Round:
    truck = problem.trucks[problem.slots[slot].truck]
    rests: tuple[int, ...] = ()
    if truck.rest:
        timed = pattern_of(pattern.group, slots, pattern.tasks) or pattern
        rests = timed.rests
    rest_s = truck.rest.rest_s if truck.rest else 0
    calls: list[Call] = []
    last: int | None = None
    for task in pattern.tasks:
        way = (
            slots.out_s[task]
            if last is None
            else slots.link_s[last][task] + slots.clean_s[last][task]
        )
        for visit, step in zip(
            slots.tasks[task].visits, slots.steps[task], strict=True
        ):
            gap = way + step.drive_s + rest_s * rests.count(len(calls))
            windows = visit_windows(problem, truck, visit)
            place = visit_place(problem, visit)
            calls.append(Call(place, gap, step.service_s, windows))
            way = 0
        last = task
    home = slots.home_s[pattern.tasks[-1]] + rest_s * rests.count(len(calls))
    return Round(slot, tuple(calls), home)


def _busiest(rounds: Sequence[Round], narrow: set[int], day: str) -> Clash:
    asked: dict[int, int] = {}
    for own in rounds:
        for call in own.calls:
            if call.place in narrow:
                asked[call.place] = asked.get(call.place, 0) + call.service_s
    place = max(sorted(asked), key=lambda at: asked[at])
    return Clash(place, day, asked[place])


class _Day:
    """The programme of one day."""

    def __init__(
        self, problem: PlanProblem, rounds: Sequence[Round], narrow: set[int]
    ) -> None:
        self.problem, self.rounds, self.narrow = problem, rounds, narrow
        self.model = cp_model.CpModel()
        self.origin = min(problem.slots[own.slot].earliest for own in rounds)
        self.begins: dict[int, list[cp_model.IntVar]] = {}
        self.busy: dict[int, list[cp_model.IntervalVar]] = {}
        self.price: list[cp_model.LinearExpr] = []

    def solve(self) -> dict[int, list[int]] | None:
        """Begins by slot; None if the shifts cannot be laid out."""
        for own in self.rounds:
            if not self._add(own):
                return None
        for place, intervals in sorted(self.busy.items()):
            room = self.problem.places[place].at_once or 1
            if room == 1:
                self.model.add_no_overlap(intervals)
            else:
                self.model.add_cumulative(intervals, [1] * len(intervals), room)
        self.model.minimize(sum(self.price))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = EFFORT
        if solver.solve(self.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return {
            slot: [self.origin + solver.value(begin) for begin in begins]
            for slot, begins in self.begins.items()
        }

    def _add(self, own: Round) -> bool:
        slot = self.problem.slots[own.slot]
        truck = self.problem.trucks[slot.truck]
        first, last = slot.earliest - self.origin, slot.latest - self.origin
        model, begins = self.model, []
        leave = model.new_int_var(first, last, "")
        before: cp_model.LinearExpr = leave
        for call in own.calls:
            ranges = [
                [
                    max(opens - self.origin, first),
                    min(closes - self.origin, last) - call.service_s,
                ]
                for opens, closes in call.windows
            ]
            ranges = [own for own in ranges if own[0] <= own[1]]
            if not ranges:
                return False
            begin = model.new_int_var_from_domain(
                cp_model.Domain.from_intervals(ranges), ""
            )
            model.add(begin >= before + call.gap_s)
            before = begin + call.service_s
            begins.append(begin)
            if call.place in self.narrow and call.service_s:
                self.busy.setdefault(call.place, []).append(
                    model.new_fixed_size_interval_var(begin, call.service_s, "")
                )
        length = model.new_int_var(0, truck.max_shift_s, "")
        back = before + own.home_s
        model.add(back <= last)
        model.add(length == back - leave)
        self.begins[own.slot] = begins
        self._priced(own, length)
        return True

    def _priced(self, own: Round, length: cp_model.IntVar) -> None:
        truck = self.problem.trucks[self.problem.slots[own.slot].truck]
        rates = truck.rates
        paid = self.model.new_int_var(
            rates.minimum_hire_s, max(truck.max_shift_s, rates.minimum_hire_s), ""
        )
        self.model.add(paid >= length)
        self.price.append(rates.per_hour * paid)
        if rates.overtime_after_s is not None and rates.overtime_per_hour:
            beyond = self.model.new_int_var(0, truck.max_shift_s, "")
            self.model.add(beyond >= length - rates.overtime_after_s)
            self.price.append(rates.overtime_per_hour * beyond)
        # Among timetables that cost the same the shorter one.
        self.price.append(length)
