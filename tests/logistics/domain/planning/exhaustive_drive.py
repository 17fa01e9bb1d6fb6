"""Every shift that one truck can drive in one slot of a tiny problem.

Shares no code with the planner beyond the dataclasses of the question. Every moment of a
grid is tried as the moment of leaving, every order of loading and tipping, a rest at every
place before and after what is done there, and, where few trucks at once are admitted,
every moment of the grid for what is done there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from logistics.domain.planning.problem import Haul, PlanProblem, Window
from logistics.domain.trucks import BodyKind, Cargo, RestRule, Truck

EARTH = {Cargo.SUBSOIL, Cargo.SAND}
TAKES = {
    BodyKind.TIPPER: EARTH,
    BodyKind.GRAB: EARTH,
    BodyKind.HOOK_LIFT: EARTH,
    BodyKind.FLAT_BED: {Cargo.STRAW},
    BodyKind.TRAILER: EARTH | {Cargo.STRAW},
}
NO_RULE = RestRule("none", 0)

Dock = tuple[int, int, int]
"""Place, begin and end of what is done at a place that admits few trucks at once."""


class Clock(NamedTuple):
    """A moment of a shift: when it left, now, and driving and work since the last rest."""

    left: int
    now: int
    driven: int
    worked: int
    docks: tuple[Dock, ...]


class Body(NamedTuple):
    """Hauls whose parts ride together, and for each visit of a place who is aboard there.

    `visits` has the place and the positions in `hauls` of what is aboard at the heaviest.
    """

    hauls: tuple[int, ...]
    visits: tuple[tuple[int, tuple[int, ...]], ...]


class Driven(NamedTuple):
    """A shift without masses: its bodies, what it costs whatever they weigh, its docks."""

    bodies: tuple[Body, ...]
    cost: int
    docks: tuple[Dock, ...]


def half_up(amount: Fraction) -> int:
    """Rounded to a whole minor unit, halves up."""
    return (2 * amount.numerator + amount.denominator) // (2 * amount.denominator)


class Driver:
    """Tries all shifts of one slot; `shifts()` gives the cheapest for each set of bodies."""

    def __init__(
        self, problem: PlanProblem, slot: int, *, grid: int, most: int
    ) -> None:
        self.problem = problem
        self.slot = problem.slots[slot]
        self.truck: Truck = problem.trucks[self.slot.truck]
        ways = problem.own_ways.get(self.truck.key, problem.distances)
        self.seconds = ways.seconds.tolist()
        self.metres = ways.metres.tolist()
        self.way = ways.reachable.tolist()
        self.grid, self.most = grid, most
        self.rule = self.truck.rest or NO_RULE
        base = self.truck.base
        self.start = base if self.slot.start is None else self.slot.start
        self.end = base if self.slot.end is None else self.slot.end
        self.usable = [i for i, haul in enumerate(problem.hauls) if self._may(haul)]
        self.found: dict[tuple[tuple[Body, ...], tuple[Dock, ...]], int] = {}

    def shifts(self) -> list[Driven]:
        """The cheapest way to drive each set of bodies at each set of dock times."""
        if all(self.enters(place, 0) for place in (self.start, self.end)):
            moments = range(self.slot.earliest, self.slot.latest + 1, self.grid)
            clocks = [Clock(moment, moment, 0, 0, ()) for moment in moments]
            self._go(self.start, clocks, (0, 0), (), None)
        return [Driven(*key, cost) for key, cost in self._sorted()]

    def _sorted(
        self,
    ) -> Iterator[tuple[tuple[tuple[Body, ...], int], tuple[Dock, ...]]]:
        for (bodies, docks), cost in self.found.items():
            yield (bodies, cost), docks

    def enters(self, place: int, kg: int) -> bool:
        """Whether the truck with this load keeps the limits known for a place."""
        limits, truck = self.problem.places[place].access, self.truck
        pairs = (
            ((truck.tare_kg or 0) + kg, limits.max_gross_kg),
            (truck.height_m, limits.max_height_m),
            (truck.width_m, limits.max_width_m),
            (truck.length_m, limits.max_length_m),
        )
        return all(a is None or b is None or a <= b for a, b in pairs)

    def _may(self, haul: Haul) -> bool:
        truck, tariff = self.truck, self.truck.rates.delivery
        ride = self.metres[haul.origin][haul.destination]
        return (
            haul.mass_kg > 0
            and haul.cargo in TAKES[truck.body]
            and (truck.only_from is None or haul.origin in truck.only_from)
            and (tariff is None or any(ride <= b.up_to_m for b in tariff.bands))
        )

    def _go(
        self,
        here: int,
        clocks: Sequence[Clock],
        driven: tuple[int, int],
        bodies: tuple[Body, ...],
        cargo: Cargo | None,
    ) -> None:
        """With an empty body: return, or take on the first part of another body."""
        self._return(here, clocks, driven, bodies)
        trips = [haul for body in bodies for haul in body.hauls]
        if len(trips) >= self.most:
            return
        for index in self.usable:
            haul = self.problem.hauls[index]
            if trips.count(index) >= haul.mass_kg // haul.unit_kg:
                continue
            ready = clocks
            if cargo not in {None, haul.cargo} and self.truck.cleaning_s:
                ready = self._rested(self._worked(self._rested(clocks), None))
            self._load(here, ready, driven, (bodies, [index], []))

    def _load(
        self,
        here: int,
        clocks: Sequence[Clock],
        driven: tuple[int, int],
        so_far: tuple[tuple[Body, ...], list[int], list[tuple[int, tuple[int, ...]]]],
    ) -> None:
        """Load the last of the hauls aboard; then load another or tip them all."""
        bodies, aboard, visits = so_far
        haul = self.problem.hauls[aboard[-1]]
        clocks, driven = self._drive(here, haul.origin, clocks, driven)
        clocks = self._served(clocks, haul, loading=True)
        if not clocks:
            return
        here, all_aboard = haul.origin, tuple(range(len(aboard)))
        visits = [*visits, (here, all_aboard)]
        for order in _orders(all_aboard):
            self._tip(here, clocks, driven, ((bodies, aboard, visits), order))
        if haul.shared and sum(len(b.hauls) for b in bodies) + len(aboard) < self.most:
            for other in self.usable:
                own = self.problem.hauls[other]
                if own.shared and own.cargo == haul.cargo and other not in aboard:
                    self._load(here, clocks, driven, (bodies, [*aboard, other], visits))

    def _tip(
        self,
        here: int,
        clocks: Sequence[Clock],
        driven: tuple[int, int],
        rest: tuple[
            tuple[tuple[Body, ...], list[int], list[tuple[int, tuple[int, ...]]]],
            tuple[int, ...],
        ],
    ) -> None:
        (bodies, aboard, visits), order = rest
        visits = list(visits)
        for at, position in enumerate(order):
            haul = self.problem.hauls[aboard[position]]
            clocks, driven = self._drive(here, haul.destination, clocks, driven)
            clocks = self._served(clocks, haul, loading=False)
            here = haul.destination
            visits.append((here, order[at:]))
        if clocks:
            body = Body(tuple(aboard), tuple(visits))
            cargo = self.problem.hauls[aboard[0]].cargo
            self._go(here, clocks, driven, (*bodies, body), cargo)

    def _drive(
        self, here: int, there: int, clocks: Sequence[Clock], driven: tuple[int, int]
    ) -> tuple[list[Clock], tuple[int, int]]:
        """The clocks on arrival, with and without a rest there; metres and seconds."""
        leg, metres = self.seconds[here][there], self.metres[here][there]
        driven = driven[0] + metres, driven[1] + leg
        if not self.way[here][there] or _over(driven[1], self.rule.most_driving_s):
            return [], driven
        moved = [
            own._replace(
                now=own.now + leg, driven=own.driven + leg, worked=own.worked + leg
            )
            for own in clocks
        ]
        return self._rested(self._legal(moved)), driven

    def _legal(self, clocks: Sequence[Clock]) -> list[Clock]:
        rule, slot = self.rule, self.slot
        return [
            own
            for own in clocks
            if own.now <= slot.latest
            and own.now - own.left <= self.truck.max_shift_s
            and not _over(own.driven, rule.after_driving_s)
            and not _over(own.worked, rule.after_work_s)
        ]

    def _rested(self, clocks: Sequence[Clock]) -> list[Clock]:
        if self.truck.rest is None:
            return list(clocks)
        rest_s = self.rule.rest_s
        after = [
            own._replace(now=own.now + rest_s, driven=0, worked=0) for own in clocks
        ]
        return _best([*clocks, *self._legal(after)])

    def _worked(self, clocks: Sequence[Clock], work_s: int | None) -> list[Clock]:
        """The clocks after so much work, that of cleaning where no time is given."""
        work_s = self.truck.cleaning_s if work_s is None else work_s
        after = [
            own._replace(now=own.now + work_s, worked=own.worked + work_s)
            for own in clocks
        ]
        return self._legal(after)

    def _served(
        self, clocks: Sequence[Clock], haul: Haul, *, loading: bool
    ) -> list[Clock]:
        """The clocks after loading or tipping, with and without a rest after it."""
        place = haul.origin if loading else haul.destination
        work_s = haul.load_s if loading else haul.unload_s
        windows = [haul.pickup_windows if loading else haul.drop_windows]
        by_loader = loading and self.truck.body is not BodyKind.GRAB
        if by_loader and haul.loader_windows is not None:
            windows.append(haul.loader_windows)
        docked = self.problem.places[place].at_once is not None
        begun = []
        for own in clocks:
            for begin in self._begins(own.now, work_s, windows):
                docks = (*own.docks, (place, begin, begin + work_s))
                begun.append(
                    own._replace(now=begin, docks=docks if docked else own.docks)
                )
                if not docked:
                    break
        return self._rested(self._worked(begun, work_s))

    def _begins(
        self, now: int, work_s: int, windows: Sequence[Sequence[Window]]
    ) -> Iterator[int]:
        for begin in range(now, self.slot.latest + 1, self.grid):
            if all(
                any(
                    opens <= begin and begin + work_s <= closes for opens, closes in own
                )
                for own in windows
            ):
                yield begin

    def _return(
        self,
        here: int,
        clocks: Sequence[Clock],
        driven: tuple[int, int],
        bodies: tuple[Body, ...],
    ) -> None:
        clocks, (metres, _) = self._drive(here, self.end, clocks, driven)
        if not bodies and self.start == self.end:
            return
        for own in clocks:
            key = bodies, tuple(sorted(own.docks))
            cost = self._cost(metres, own.now - own.left)
            self.found[key] = min(cost, self.found.get(key, cost))

    def _cost(self, metres: int, paid: int) -> int:
        rates = self.truck.rates
        cost = rates.call_out + half_up(Fraction(rates.per_km * metres, 1000))
        hired = max(paid, rates.minimum_hire_s)
        cost += half_up(Fraction(rates.per_hour * hired, 3600))
        if rates.overtime_after_s is not None:
            over = max(0, paid - rates.overtime_after_s)
            cost += half_up(Fraction(rates.overtime_per_hour * over, 3600))
        return cost


def _over(count: int, most: int | None) -> bool:
    return most is not None and count > most


def _orders(items: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    if not items:
        yield ()
    for at, first in enumerate(items):
        for others in _orders(items[:at] + items[at + 1 :]):
            yield (first, *others)


def _best(clocks: Sequence[Clock]) -> list[Clock]:
    """Without clocks that are behind another of the same leaving in every count."""
    kept: dict[tuple[int, tuple[Dock, ...]], list[Clock]] = {}
    for own in sorted(clocks, key=lambda c: (c.now, c.driven, c.worked)):
        rivals = kept.setdefault((own.left, own.docks), [])
        if not any(r.driven <= own.driven and r.worked <= own.worked for r in rivals):
            rivals.append(own)
    return [own for rivals in kept.values() for own in rivals]
