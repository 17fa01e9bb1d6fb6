"""Limits on the axles that follow each other, and the most that they leave together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from logistics.domain.legal.axles import AxleLayout


@dataclass(frozen=True, slots=True)
class GroupLimit:
    """Axles `first` to `last` (counted from 0) carry at most `most_kg` together."""

    first: int
    last: int
    most_kg: float
    words: str


@dataclass(frozen=True, slots=True)
class LimitSet:
    """All limits of one way to keep a rule. `unchecked` says what they leave out."""

    limits: tuple[GroupLimit, ...]
    source: str
    unchecked: tuple[str, ...] = ()

    def reduced(self, share: float, words: str) -> LimitSet:
        """The same with every limit, axles and gross alike, cut to a share."""
        return replace(
            self,
            limits=tuple(
                replace(own, most_kg=own.most_kg * share, words=f"{own.words}, {words}")
                for own in self.limits
            ),
        )


@dataclass(frozen=True, slots=True)
class Gross:
    """The most that all axles carry together, and the limits that set it."""

    kg: float
    binds: tuple[GroupLimit, ...]


def most_gross(
    limits: Sequence[GroupLimit], tares: Sequence[int], count: int
) -> Gross | None:
    """The heaviest truck that some spread of its load over the axles makes lawful.

    With running sums S, a group limit is S[last + 1] - S[first] <= most, and an axle's tare
    S[i] - S[i + 1] <= -tare: the most of S[count] is a shortest path, by Bellman and Ford.
    None where nothing limits the whole, or the empty truck breaks a limit.
    """
    edges = [(own.first, own.last + 1, own.most_kg, own) for own in limits]
    back: list[tuple[int, int, float, GroupLimit | None]] = [
        (index + 1, index, -float(tare), None) for index, tare in enumerate(tares)
    ]
    reach = [0.0, *[float("inf")] * count]
    came: list[tuple[int, GroupLimit | None]] = [(0, None)] * (count + 1)
    for _ in range(count + 1):
        changed = False
        for start, end, length, own in [*edges, *back]:
            if reach[start] + length < reach[end] - 1e-6:
                reach[end], came[end], changed = (
                    reach[start] + length,
                    (start, own),
                    True,
                )
        if not changed:
            break
    else:
        return None
    if reach[count] == float("inf"):
        return None
    binds, node = [], count
    while node:
        node, limit = came[node]
        binds += [limit] if limit else []
    return Gross(reach[count], tuple(reversed(binds)))


@dataclass(frozen=True, slots=True)
class GroupCheck:
    """What a group of axles carries of a load in the middle of the body."""

    words: str
    carried_kg: int
    most_kg: int

    @property
    def keeps(self) -> bool:
        """Whether the limit is kept."""
        return self.carried_kg <= self.most_kg


def checks(
    layout: AxleLayout, limits: Sequence[GroupLimit], load_kg: int
) -> tuple[GroupCheck, ...]:
    """Each group under a load in the middle of the body; empty where no tare of axles or
    no middle is known."""
    carried = carried_kg(layout, load_kg)
    if carried is None:
        return ()
    return tuple(
        GroupCheck(
            own.words,
            round(sum(carried[own.first : own.last + 1])),
            int(own.most_kg + 1e-6),
        )
        for own in limits
    )


def carried_kg(layout: AxleLayout, load_kg: int) -> tuple[float, ...] | None:
    """What each axle carries with a load in the middle of the body, None if not known."""
    tares, shares = layout.axle_tares, layout.load_shares
    if tares is None or shares is None:
        return None
    return tuple(
        tare + share * load_kg for tare, share in zip(tares, shares, strict=True)
    )


def centred_load(
    layout: AxleLayout, limits: Sequence[GroupLimit]
) -> tuple[float, GroupLimit] | None:
    """The largest load in the middle of the body that keeps every limit, and the limit
    that stops it; None where that cannot be computed."""
    tares, shares = layout.axle_tares, layout.load_shares
    if tares is None or shares is None:
        return None
    found = []
    for own in limits:
        share = sum(shares[own.first : own.last + 1])
        room = own.most_kg - sum(tares[own.first : own.last + 1])
        if share > 1e-9:
            found.append((max(room, 0.0) / share, own))
    return min(found, key=lambda pair: pair[0], default=None)


def neighbours(layout: AxleLayout, first: int, last: int, below_m: float) -> bool:
    """Whether each of these axles stands less than so far behind the one before."""
    group = layout.axles[first : last + 1]
    return all(behind.at_m - ahead.at_m < below_m for ahead, behind in pairwise(group))
