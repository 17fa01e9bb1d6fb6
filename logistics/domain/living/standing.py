"""Where a plan stands at a moment: what is done, what holds, what can no longer be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from logistics.domain.living.arrivals import Facts, LoadAt
from logistics.domain.living.blocks import companions, open_for
from logistics.domain.living.disruptions import (
    Disruption,
    MassChanged,
    RunsLate,
    TruckOut,
    TurnedAway,
)
from logistics.domain.living.reshaping import reshaped
from logistics.domain.living.surgery import broken_off, late, reweighed, without
from logistics.domain.planning.problem import PlanProblem, Window
from logistics.domain.planning.result import HaulPlan, Load, Shift, Stop, StopKind, Trip


@dataclass(frozen=True, slots=True)
class Held:
    """A shift that goes on. A fixed one has begun, or somebody wants it left alone."""

    shift: Shift
    fixed: bool
    begun: bool


@dataclass(frozen=True)
class Standing:
    """`world` is the problem as it is now, `checked` the same with the moments of facts
    let through. `past` are shifts that broke off. `pending` are kg of each haul that are to
    be carried and have no truck."""

    world: PlanProblem
    checked: PlanProblem
    held: tuple[Held, ...]
    past: tuple[Shift, ...]
    pending: tuple[int, ...]
    roaming: frozenset[int]
    """Trucks that stay away overnight: all of their shifts hold, or none."""
    ready: Mapping[int, int]
    """By slot, the moment from which a late truck can do anything else."""


def standing(
    problem: PlanProblem,
    plan: HaulPlan,
    facts: Facts,
    now: int,
    disruptions: Sequence[Disruption],
) -> Standing:
    """Sort the shifts of a plan by what happened to them."""
    sorter = _Sorter(problem, plan, facts, now, disruptions)
    sorter.sort()
    sorter.change_masses()
    return sorter.answer()


class _Sorter:
    """One pass over the shifts; what it finds collects in its fields."""

    def __init__(
        self,
        problem: PlanProblem,
        plan: HaulPlan,
        facts: Facts,
        now: int,
        disruptions: Sequence[Disruption],
    ) -> None:
        self.problem, self.plan, self.facts, self.now = problem, plan, facts, now
        self.disruptions = disruptions
        self.world = reshaped(problem, disruptions, now)
        self.checked = self.world
        driven = [problem.slots[shift.slot] for shift in plan.shifts]
        self.roaming = frozenset(
            slot.truck
            for slot in driven
            if slot.start is not None or slot.end is not None
        )
        self.held: list[Held] = []
        self.past: list[Shift] = []
        self.ready: dict[int, int] = {}
        self.pending: Counter[int] = Counter(
            {own.haul: own.mass_kg for own in plan.unplanned}
        )
        self.refused = _refused(facts, disruptions)

    def sort(self) -> None:
        for number, shift in enumerate(self.plan.shifts):
            done = frozenset(
                trip
                for trip, own in enumerate(shift.trips)
                if self._recorded(number, trip) or own.drop.end <= self.now
            )
            for trip in range(len(shift.trips)):
                at = LoadAt(number, trip)
                if at in self.refused:
                    self._not_tipped(shift, shift.trips[trip].load)
                if self.refused.get(at):
                    self._await(shift, [trip])
            self._one(number, shift, done)
        self._strand()

    def _not_tipped(self, shift: Shift, load: Load) -> None:
        """A load that was turned away fills no store."""
        day = self.problem.slots[shift.slot].day
        stores = tuple(
            replace(
                store,
                room_m3=tuple(
                    (own, m3 + load.loose_m3 if own >= day else m3)
                    for own, m3 in store.room_m3
                ),
            )
            if load.haul in store.hauls
            else store
            for store in self.world.stores
        )
        self.world = replace(self.world, stores=stores)
        self.checked = replace(self.checked, stores=stores)

    def _recorded(self, number: int, trip: int) -> bool:
        at = LoadAt(number, trip)
        return at in self.facts.arrivals or at in self.refused

    def _await(self, shift: Shift, trips: Sequence[int]) -> None:
        for trip in trips:
            load = shift.trips[trip].load
            self.pending[load.haul] += load.mass_kg

    def _one(self, number: int, shift: Shift, done: frozenset[int]) -> None:
        begun = shift.leave.begin <= self.now
        broke = self._broke(shift)
        ahead = [trip for trip in range(len(shift.trips)) if trip not in done]
        if broke is not None and begun and broke <= self.now:
            tipped = frozenset(
                trip
                for trip, own in enumerate(shift.trips)
                if own.drop.end <= broke or self._recorded(number, trip)
            )
            self.past.append(broken_off(self.problem, shift, broke, tipped))
            self._await(shift, [t for t in range(len(shift.trips)) if t not in tipped])
            return
        pinned = number in self.facts.pinned
        hit = frozenset(
            trip for trip in ahead if not self._can(shift, shift.trips[trip])
        )
        aboard = frozenset(t for t in hit if shift.trips[t].pickup.begin < self.now)
        # It is on the truck and cannot be tipped: charged, and carried again.
        self._await(shift, sorted(aboard))
        loading = {
            trip for trip, own in enumerate(shift.trips) if own.pickup.begin < self.now
        }
        self._excuse(shift, done | aboard | loading)
        self._excuse_hours(shift, begun=begun, whole=broke is None)
        own = self._kept(shift, hit - aboard, begun=begun)
        if own:
            self.held.append(Held(own, begun or pinned, begun))
            return
        if begun:
            self.past.append(broken_off(self.problem, shift, self.now, done))
        rest = set(range(len(shift.trips))) - done - aboard
        self._await(shift, sorted(rest))

    def _kept(self, shift: Shift, hit: frozenset[int], *, begun: bool) -> Shift | None:
        """What can go on of a shift, None if nothing. Counts what it gives up."""
        own: Shift | None = shift
        gone = companions(shift, hit)
        if hit:
            roams = self.problem.slots[shift.slot].truck in self.roaming
            own = None if roams else without(self.checked, shift, gone, begun=begun)
        delay, lost, before = self._delay(shift), frozenset[int](), own
        if delay:
            self.ready[shift.slot] = max(self.now, shift.leave.begin) + delay
        if own and delay and own.back.end > self.now:
            own, lost = late(self.checked, own, delay, self.now)
        if own and before:
            self._await(shift, sorted(gone))
            self._await(before, sorted(lost))
        return own

    def _broke(self, shift: Shift) -> int | None:
        truck = self.problem.trucks[self.problem.slots[shift.slot].truck].key
        moments = [
            own.start
            for own in self.disruptions
            if isinstance(own, TruckOut)
            and own.truck == truck
            and own.start < shift.back.end
            and (own.until is None or own.until > shift.leave.begin)
        ]
        return min(moments, default=None)

    def _can(self, shift: Shift, trip: Trip) -> bool:
        """Whether a trip that is ahead can still take place as it was planned."""
        slot = self.world.slots[shift.slot]
        truck = self.world.trucks[slot.truck]
        haul = self.world.hauls[trip.load.haul]
        home = int(self.world.ways(truck).seconds[trip.drop.place, shift.back.place])
        if self._broke(shift) is not None and (
            trip.pickup.arrive - trip.pickup.leg_s < slot.earliest
            or trip.drop.end + home > slot.latest
        ):
            return False
        loaded = trip.pickup.begin < self.now or _inside(
            (trip.pickup.begin, trip.pickup.end), open_for(haul, truck, StopKind.LOAD)
        )
        return loaded and _inside(
            (trip.drop.begin, trip.drop.end), open_for(haul, truck, StopKind.TIP)
        )

    def _delay(self, shift: Shift) -> int:
        slot = self.problem.slots[shift.slot]
        return sum(
            60 * own.minutes
            for own in self.disruptions
            if isinstance(own, RunsLate)
            and own.truck == self.problem.trucks[slot.truck].key
            and own.day == slot.day
        )

    def _excuse(self, shift: Shift, trips: frozenset[int]) -> None:
        """Let the check pass what is a fact, though its place is closed by now."""
        hauls = list(self.checked.hauls)
        for number in trips:
            trip = shift.trips[number]
            haul = hauls[trip.load.haul]
            hauls[trip.load.haul] = replace(
                haul,
                pickup_windows=_with(haul.pickup_windows, trip.pickup),
                drop_windows=_with(haul.drop_windows, trip.drop),
            )
        self.checked = replace(self.checked, hauls=tuple(hauls))

    def _excuse_hours(self, shift: Shift, *, begun: bool, whole: bool) -> None:
        """Let the check pass hours that were kept before, or that nothing touches."""
        slots = list(self.checked.slots)
        slot = slots[shift.slot]
        earliest, latest = slot.earliest, slot.latest
        if whole or begun:
            earliest = min(earliest, shift.leave.begin)
        if whole or shift.back.end <= self.now:
            latest = max(latest, shift.back.end)
        slots[shift.slot] = replace(slot, earliest=earliest, latest=latest)
        self.checked = replace(self.checked, slots=tuple(slots))

    def _strand(self) -> None:
        """All shifts ahead of a truck that stays away hold, or none; what it drove can no
        longer be checked as a way from base to base, where it comes home unplanned."""
        for truck in self.roaming:
            own = [h for h in self.held if self._truck(h) == truck]
            planned = [
                s for s in self.plan.shifts if self.problem.slots[s.slot].truck == truck
            ]
            if len(own) == len(planned):
                continue
            for held in own:
                self.held.remove(held)
                if held.begun:
                    self.past.append(held.shift)
                else:
                    self._await(held.shift, range(len(held.shift.trips)))

    def _truck(self, held: Held) -> int:
        return self.problem.slots[held.shift.slot].truck

    def change_masses(self) -> None:
        for own in self.disruptions:
            if isinstance(own, MassChanged):
                keys = [haul.key for haul in self.problem.hauls]
                index = keys.index(own.haul)
                haul = self.problem.hauls[index]
                whole = haul.mass_kg if own.of_kg is None else own.of_kg
                pieces = whole * own.percent / 100 / haul.unit_kg
                self.pending[index] += round(pieces) * haul.unit_kg
                if self.pending[index] < 0:
                    self._lighten(index)

    def _lighten(self, index: int) -> None:
        """Less comes than has a truck: the last loads go, the one before gets lighter."""
        while self.pending[index] < 0:
            ahead = [
                (trip.pickup.begin, at, number)
                for at, held in enumerate(self.held)
                for number, trip in enumerate(held.shift.trips)
                if trip.load.haul == index and trip.pickup.begin >= self.now
            ]
            if not ahead:
                self.pending[index] = 0
                return
            _, at, number = max(ahead)
            kg = self.held[at].shift.trips[number].load.mass_kg
            over = min(-self.pending[index], kg)
            self._take(at, number, kg - over)
            self.pending[index] += over

    def _take(self, at: int, number: int, left_kg: int) -> None:
        """Leave so much of a load, or take it out of its shift."""
        held = self.held[at]
        if left_kg:
            shift = reweighed(self.checked, held.shift, {number: left_kg})
        else:
            gone = frozenset((number,))
            shift = without(self.checked, held.shift, gone, begun=held.begun)
            rest = companions(held.shift, gone) - gone
            self._await(held.shift, sorted(rest))
        if shift is None and len(held.shift.trips) > 1:
            others = set(range(len(held.shift.trips))) - {number}
            self._await(held.shift, sorted(others))
        if shift is None and held.begun:
            self.past.append(held.shift)
        self.held[at] = replace(held, shift=shift or _empty(held.shift))

    def answer(self) -> Standing:
        held = tuple(own for own in self.held if own.shift.trips)
        return Standing(
            self.world,
            self.checked,
            held,
            tuple(self.past),
            tuple(self.pending[index] for index in range(len(self.problem.hauls))),
            self.roaming,
            self.ready,
        )


def _refused(facts: Facts, disruptions: Sequence[Disruption]) -> dict[LoadAt, bool]:
    """Loads that were turned away, and whether each is still to come."""
    found = {
        at: own.comes_again for at, own in facts.arrivals.items() if not own.accepted
    }
    for own in disruptions:
        if isinstance(own, TurnedAway):
            found[LoadAt(own.shift, own.trip)] = own.comes_again
    return found


def _empty(shift: Shift) -> Shift:
    return replace(shift, trips=())


def _inside(own: Window, windows: Sequence[Window]) -> bool:
    return any(opens <= own[0] and own[1] <= closes for opens, closes in windows)


def _with(windows: tuple[Window, ...], stop: Stop) -> tuple[Window, ...]:
    own = (stop.begin, stop.end)
    return windows if _inside(own, windows) else tuple(sorted((*windows, own)))
