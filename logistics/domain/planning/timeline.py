"""From chosen patterns to shifts with clock times, loads and cost lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from logistics.domain.planning.billing import shift_costs
from logistics.domain.planning.groups import visit_windows
from logistics.domain.planning.patterns import Pattern, pattern_of
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.result import Load, Shift, Stop, StopKind, Trip
from logistics.domain.planning.shifts import SlotClass, limits
from logistics.domain.planning.tasks import Visit, visit_place
from logistics.domain.trucks import Truck

Begins = Sequence[int] | None
"""When the work of each visit of a shift begins, if that is laid down."""


def build_shift(
    problem: PlanProblem,
    slots: SlotClass,
    slot: int,
    pattern: Pattern,
    masses: Sequence[Sequence[int]],
    begins: Begins = None,
) -> Shift:
    """Drive the pattern from its earliest leaving, each visit as soon as a window allows.

    With `begins` each visit begins then, and the truck leaves just in time for the first.
    """
    truck = problem.trucks[problem.slots[slot].truck]
    timed = pattern
    if (
        truck.rest and pattern.tasks
    ):  # only this way of timing notes where the rests are
        timed = pattern_of(pattern.group, slots, pattern.tasks) or pattern
    drive = _Drive(problem, slots, slot, timed, begins)
    trips: list[Trip] = []
    for body, (task, kilograms) in enumerate(zip(pattern.tasks, masses, strict=True)):
        own = slots.tasks[task]
        first = len(trips)
        drive.clean_for(problem.hauls[own.hauls[0]].cargo)
        stops: dict[tuple[int, bool], Stop] = {}
        for visit in own.visits:
            number = first + own.hauls.index(visit.haul)
            stops[visit.haul, visit.loads] = drive.visit(visit, number)
        trips += [
            Trip(
                _load(problem, truck, index, kg),
                stops[index, True],
                stops[index, False],
                body,
            )
            for index, kg in zip(own.hauls, kilograms, strict=True)
        ]
    drive.go_home(problem.end(problem.slots[slot]))
    bare = Shift(slot, tuple(drive.stops), tuple(trips), ())
    return replace(bare, costs=shift_costs(problem, bare))


class _Drive:
    """A shift as it is driven, stop by stop."""

    def __init__(
        self,
        problem: PlanProblem,
        slots: SlotClass,
        slot: int,
        pattern: Pattern,
        begins: Begins,
    ) -> None:
        truck = problem.trucks[problem.slots[slot].truck]
        self.problem, self.truck = problem, truck
        self.rests, self.begins = Counter(pattern.rests), begins
        self.legs = self.visits = 0
        self.wheel = self.work = self.cleaning = 0
        self.cargo: str | None = None
        own = problem.slots[slot]
        now = own.earliest + pattern.early
        here = problem.start(own)
        if begins:  # just in time for the first visit
            haul = problem.hauls[slots.tasks[pattern.tasks[0]].visits[0].haul]
            way = int(problem.ways(truck).seconds[here, haul.origin])
            rest = truck.rest.rest_s * self.rests[0] if truck.rest else 0
            now = begins[0] - way - rest
        self.stops = [Stop(StopKind.LEAVE, here, now, now, now, 0, 0)]

    @property
    def here(self) -> int:
        return self.stops[-1].place

    @property
    def now(self) -> int:
        return self.stops[-1].end

    def clean_for(self, cargo: str) -> None:
        """Clean the body, where something else was in it."""
        other = self.cargo not in (None, cargo)
        self.cleaning = self.truck.cleaning_s if other else 0
        self.cargo = cargo

    def visit(self, visit: Visit, number: int) -> Stop:
        """Drive to a visit and do its work; rests and cleaning on the way."""
        place = visit_place(self.problem, visit)
        haul = self.problem.hauls[visit.haul]
        service = haul.load_s if visit.loads else haul.unload_s
        seconds, metres = self._leg(place)
        cleaning, self.cleaning = self.cleaning, 0
        late = self._before(seconds, cleaning)
        if self.legs in self.rests and late:
            self._rest_and_clean(cleaning)
        else:
            self._clean(cleaning)
        arrive = self.now + seconds
        self.wheel += seconds
        self.work += seconds
        leg = (metres, seconds)
        if self.rests[self.legs] > late:
            assert self.truck.rest is not None
            end = arrive + self.truck.rest.rest_s
            self.stops.append(Stop(StopKind.REST, place, arrive, arrive, end, *leg))
            self.wheel = self.work = 0
            arrive, leg = end, (0, 0)
        begin = self._begin(
            arrive, service, visit_windows(self.problem, self.truck, visit)
        )
        kind = StopKind.LOAD if visit.loads else StopKind.TIP
        stop = Stop(kind, place, arrive, begin, begin + service, *leg, trip=number)
        self.work += service
        self.stops.append(stop)
        self.legs += 1
        self.visits += 1
        return stop

    def go_home(self, place: int) -> None:
        seconds, metres = self._leg(place)
        if self.legs in self.rests:
            self._rest()
        end = self.now + seconds
        self.stops.append(Stop(StopKind.RETURN, place, end, end, end, metres, seconds))

    def _leg(self, place: int) -> tuple[int, int]:
        ways = self.problem.ways(self.truck)
        return int(ways.seconds[self.here, place]), int(ways.metres[self.here, place])

    def _before(self, seconds: int, cleaning: int) -> bool:
        """Whether the rest must come before leaving, as in `SlotClass`."""
        if self.truck.rest is None:
            return False
        wheel_most, work_most, _ = limits(self.truck.rest)
        return (
            self.wheel + seconds > wheel_most
            or self.work + cleaning + seconds > work_most
        )

    def _rest_and_clean(self, cleaning: int) -> None:
        assert self.truck.rest is not None
        _, work_most, _ = limits(self.truck.rest)
        if self.work + cleaning > work_most:
            self._rest()
            self._clean(cleaning)
        else:
            self._clean(cleaning)
            self._rest()

    def _rest(self) -> None:
        assert self.truck.rest is not None
        now = self.now
        end = now + self.truck.rest.rest_s
        self.stops.append(Stop(StopKind.REST, self.here, now, now, end, 0, 0))
        self.wheel = self.work = 0

    def _clean(self, cleaning: int) -> None:
        if cleaning:
            now = self.now
            end = now + cleaning
            self.stops.append(Stop(StopKind.CLEAN, self.here, now, now, end, 0, 0))
            self.work += cleaning

    def _begin(self, arrive: int, service: int, windows: Sequence[Window]) -> int:
        if self.begins:
            return self.begins[self.visits]
        return next(
            max(arrive, opens)
            for opens, closes in windows
            if max(arrive, opens) + service <= closes
        )


def _load(problem: PlanProblem, truck: Truck, index: int, kg: int) -> Load:
    haul = problem.hauls[index]
    capacity = problem.capacity(truck, haul)
    full = kg > capacity.kg - haul.unit_kg
    return Load(
        haul=index,
        mass_kg=kg,
        loose_m3=kg / haul.loose_kg_per_m3,
        bound=capacity.bound if full else None,
    )
