"""Centre lines of walls in plan: straight and curved legs, in m, x east and y north.

A curve is typed as people measure it: the two ends of its chord, and its rise, that is how
far the middle of the arc stands off the middle of a string between the ends.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from shapely import LineString

from logistics.domain.errors import refuse
from matching.domain.walls.sizes import MOST_COORDINATE_M, MOST_LENGTH_M, check_number

Point = tuple[float, float]

# Ends nearer than this are one: plans are measured to the centimetre.
SAME_POINT_M = 0.01
MOST_LEGS = 200
_STEP = math.radians(1)
_QUARTER = math.pi / 2


@dataclass(frozen=True, slots=True)
class Leg:
    """One piece of a path: where it ends, and its rise in m.

    rise 0: straight. Above 0: an arc that bulges to the left hand of one who walks along
    the path, below 0 to the right. Half the chord is a half circle; more is allowed.
    """

    x_m: float
    y_m: float
    rise_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Path:
    """A centre line: its start, and its legs in turn. It may end where it began.

    Raises Refused: "not_a_sane_size", "path_without_legs", "leg_too_short",
    "path_too_long", "path_crosses_itself".
    """

    x_m: float
    y_m: float
    legs: tuple[Leg, ...]

    def __post_init__(self) -> None:
        self._check_numbers()
        for index, (start, leg) in enumerate(
            zip(_corners(self), self.legs, strict=False)
        ):
            if math.dist(start, (leg.x_m, leg.y_m)) < SAME_POINT_M:
                raise refuse(
                    "leg_too_short",
                    field=f"walls.run.legs.{index}",
                    given=f"{leg.x_m:g}, {leg.y_m:g}",
                    message="this leg ends where it begins",
                    remedy="Leave it out; draw a full circle as two half circles.",
                )
        if self.length_m > MOST_LENGTH_M:
            raise refuse(
                "path_too_long",
                field="walls.run",
                given=f"{self.length_m:g} m",
                message=f"a wall is no longer than {MOST_LENGTH_M:g} m",
                remedy="Check the unit: metres.",
            )
        if not LineString(line(self)).is_simple:
            raise refuse(
                "path_crosses_itself",
                field="walls.run",
                given=f"{len(self.legs)} legs",
                message="the centre line crosses or touches itself",
                remedy="Draw the crossing part as a wall of its own.",
            )

    def _check_numbers(self) -> None:
        if not 0 < len(self.legs) <= MOST_LEGS:
            raise refuse(
                "path_without_legs",
                field="walls.run.legs",
                given=len(self.legs),
                message=f"a path has 1 to {MOST_LEGS} legs",
                remedy="Give the points where the wall turns or ends.",
            )
        typed = [("x_m", self.x_m), ("y_m", self.y_m)]
        for index, leg in enumerate(self.legs):
            typed += [
                (f"legs.{index}.x_m", leg.x_m),
                (f"legs.{index}.y_m", leg.y_m),
                (f"legs.{index}.rise_m", leg.rise_m),
            ]
        for field, value in typed:
            check_number(
                value,
                field=f"walls.run.{field}",
                least=-MOST_COORDINATE_M,
                most=MOST_COORDINATE_M,
            )

    @property
    def length_m(self) -> float:
        """Length of the centre line."""
        return math.fsum(own.length_m for own in segments(self))

    @property
    def closed(self) -> bool:
        """Whether it ends where it began."""
        last = self.legs[-1]
        return math.dist((self.x_m, self.y_m), (last.x_m, last.y_m)) < SAME_POINT_M


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight piece, or an arc of at most a quarter turn, on a path.

    `from_m`: where it begins along the path; `heading`: direction there, radians from
    east to the left; `bend`: 1/radius, above 0 for a turn to the left.
    """

    start: Point
    heading: float
    length_m: float
    bend: float
    from_m: float

    @property
    def until_m(self) -> float:
        """Where it ends along the path."""
        return self.from_m + self.length_m

    def direction(self, along_m: float) -> Point:
        """Unit vector of the walk, so far along this segment."""
        angle = self.heading + self.bend * along_m
        return math.cos(angle), math.sin(angle)

    def at(self, along_m: float, left_m: float = 0.0) -> Point:
        """The point so far along this segment and so far to the left of it."""
        turn = self.bend * along_m
        chord = along_m if abs(turn) < 1e-9 else 2 * math.sin(turn / 2) / self.bend
        x = self.start[0] + chord * math.cos(self.heading + turn / 2)
        y = self.start[1] + chord * math.sin(self.heading + turn / 2)
        dx, dy = self.direction(along_m)
        return x - left_m * dy, y + left_m * dx

    def stations(self, low_m: float, high_m: float) -> tuple[float, ...]:
        """Distances along it whose points draw it: the ends, and one a degree in arcs."""
        steps = max(1, math.ceil(abs(self.bend) * (high_m - low_m) / _STEP))
        return tuple(low_m + (high_m - low_m) * i / steps for i in range(steps + 1))


@lru_cache(maxsize=256)
def segments(path: Path) -> tuple[Segment, ...]:
    """The path in order; arcs cut in equal pieces of at most a quarter turn, so that no
    piece of a wall can overlap itself."""
    found: list[Segment] = []
    gone = 0.0
    for start, leg in zip(_corners(path), path.legs, strict=False):
        for own in _pieces(start, leg, gone):
            found.append(own)
            gone = own.until_m
    return tuple(found)


def line(path: Path) -> tuple[Point, ...]:
    """Points that draw the centre line."""
    drawn: list[Point] = [(path.x_m, path.y_m)]
    for own in segments(path):
        drawn += [own.at(s) for s in own.stations(0.0, own.length_m)[1:]]
    if path.closed:
        drawn[-1] = drawn[0]
    return tuple(drawn)


def place(path: Path, along_m: float, left_m: float = 0.0) -> Point:
    """The point so far along a path and so far to the left of it."""
    own = segments(path)[0]
    for own in segments(path):
        if along_m <= own.until_m:
            break
    return own.at(along_m - own.from_m, left_m)


def _corners(path: Path) -> tuple[Point, ...]:
    return ((path.x_m, path.y_m), *((leg.x_m, leg.y_m) for leg in path.legs))


def _pieces(start: Point, leg: Leg, gone: float) -> list[Segment]:
    dx, dy = leg.x_m - start[0], leg.y_m - start[1]
    chord, towards = math.hypot(dx, dy), math.atan2(dy, dx)
    if leg.rise_m == 0 or chord == 0:
        return [Segment(start, towards, chord, 0.0, gone)]
    # Rise h and chord c: radius (c^2/4 + h^2)/(2h), central angle 4 atan(2h/c).
    turn = -4 * math.atan(2 * leg.rise_m / chord)
    bend = -2 * leg.rise_m / (chord**2 / 4 + leg.rise_m**2)
    count = math.ceil(abs(turn) / _QUARTER - 1e-9) or 1
    length = turn / bend / count
    whole = Segment(start, towards - turn / 2, length * count, bend, gone)
    return [
        Segment(
            whole.at(length * i),
            whole.heading + bend * length * i,
            length,
            bend,
            gone + length * i,
        )
        for i in range(count)
    ]
