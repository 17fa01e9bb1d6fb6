"""What is different in a new plan, load by load, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from logistics.domain.living.arrivals import LoadAt
from logistics.domain.planning.problem import PlanProblem
from logistics.domain.planning.result import Shift, Trip


class ChangeKind(StrEnum):
    """What became of a load."""

    KEPT = "kept"
    MOVED = "moved"
    DROPPED = "dropped"
    ADDED = "added"


@dataclass(frozen=True, slots=True)
class Change:
    """A load before and after, by shift and trip in the old and in the new plan."""

    kind: ChangeKind
    haul: int
    old: LoadAt | None
    new: LoadAt | None
    text: str


@dataclass(frozen=True, slots=True)
class _Placed:
    at: LoadAt
    slot: int
    trip: Trip

    @property
    def same(self) -> tuple[int, int, int, int]:
        """Equal for loads that stay put: same truck, day and moments."""
        trip = self.trip
        return self.slot, trip.load.haul, trip.pickup.begin, trip.drop.begin

    @property
    def far(self) -> tuple[int, int]:
        return self.trip.pickup.begin, self.slot


def changes(
    problem: PlanProblem, old: Sequence[Shift], new: Sequence[Shift]
) -> tuple[Change, ...]:
    """Every load of either plan once: kept, moved, dropped or added.

    Of the loads of one haul that do not stay, each is led to the new one that is alike in
    mass, truck or day; `problem` has the slots and trucks of the new plan.
    """
    before, after = list(_loads(old)), list(_loads(new))
    found = []
    there = {own.same: own for own in reversed(after)}
    stays = [(own, there[own.same]) for own in before if own.same in there]
    for was, now in stays:
        before.remove(was)
        after.remove(now)
        found.append(_change(problem, ChangeKind.KEPT, was, now))
    for was, now in list(_pairs(before, after)):
        before.remove(was)
        after.remove(now)
        found.append(_change(problem, ChangeKind.MOVED, was, now))
    found += [_change(problem, ChangeKind.DROPPED, own, None) for own in before]
    found += [_change(problem, ChangeKind.ADDED, None, own) for own in after]
    return tuple(found)


def stay_put(old: Sequence[Shift], new: Sequence[Shift]) -> int:
    """How many loads of the old plan are in the new one, same truck, day and moments."""
    there = {own.same for own in _loads(new)}
    return sum(own.same in there for own in _loads(old))


def _loads(shifts: Sequence[Shift]) -> Iterator[_Placed]:
    for at, shift in enumerate(shifts):
        for number, trip in enumerate(shift.trips):
            yield _Placed(LoadAt(at, number), shift.slot, trip)


def _pairs(
    before: Sequence[_Placed], after: Sequence[_Placed]
) -> Iterator[tuple[_Placed, _Placed]]:
    left = sorted(after, key=lambda own: own.far)
    for was in sorted(before, key=lambda own: own.far):
        own = [o for o in left if o.trip.load.haul == was.trip.load.haul]
        if own:
            best = min(
                own,
                key=lambda o: (
                    o.slot != was.slot,
                    o.trip.load.mass_kg != was.trip.load.mass_kg,
                    abs(o.trip.pickup.begin - was.trip.pickup.begin),
                    o.at,
                ),
            )
            left.remove(best)
            yield was, best


def _change(
    problem: PlanProblem, kind: ChangeKind, was: _Placed | None, now: _Placed | None
) -> Change:
    own = was or now
    assert own is not None
    haul = own.trip.load.haul
    return Change(
        kind,
        haul,
        was.at if was else None,
        now.at if now else None,
        _text(problem, kind, was, now),
    )


def _text(
    problem: PlanProblem, kind: ChangeKind, was: _Placed | None, now: _Placed | None
) -> str:
    own = was or now
    assert own is not None
    what = f"{problem.hauls[own.trip.load.haul].key}, {_tonnes(own)}"
    if kind is ChangeKind.DROPPED:
        return f"{what}: no longer comes with {_where(problem, own)}"
    if kind is ChangeKind.ADDED:
        return f"{what}: comes with {_where(problem, own)}"
    assert was is not None
    assert now is not None
    mass = "" if _tonnes(was) == _tonnes(now) else f", now {_tonnes(now)}"
    if kind is ChangeKind.KEPT:
        return f"{what}{mass}: stays with {_where(problem, was)}"
    if was.slot != now.slot:
        moved = f"from {_where(problem, was)} to {_where(problem, now)}"
        return f"{what}{mass}: moved {moved}"
    seconds = now.trip.drop.begin - was.trip.drop.begin
    word = "later" if seconds >= 0 else "earlier"
    same = f"{abs(seconds) // 60} min {word} with {_where(problem, now)}"
    return f"{what}{mass}: {same}"


def _where(problem: PlanProblem, own: _Placed) -> str:
    slot = problem.slots[own.slot]
    return f"{problem.trucks[slot.truck].name} on {slot.day}"


def _tonnes(own: _Placed) -> str:
    return f"{own.trip.load.mass_kg / 1000:.2f} t"
