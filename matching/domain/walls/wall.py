"""A wall as it is drawn: its run, top, thickness and openings, all in m.

Heights count from the top of the plinth, which is taken as one level for all walls of a
build. The plinth is kept for drawings; it is stone or concrete and no part of any volume.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, pairwise

from logistics.domain.errors import Refused, refuse
from matching.domain.walls import heights
from matching.domain.walls.heights import Top
from matching.domain.walls.paths import Path, segments
from matching.domain.walls.sizes import (
    MOST_HEIGHT_M,
    MOST_LENGTH_M,
    MOST_THICKNESS_M,
    check_number,
    check_size,
)

_EPS = 1e-9


class Kind(StrEnum):
    """What a wall is for. A bench or buttress is a low, thick wall."""

    OUTER = "outer"
    INNER = "inner"
    BENCH = "bench"


@dataclass(frozen=True, slots=True)
class Opening:
    """A door or window, square-headed, in m.

    `at_m`: from the start of the wall to its nearer side, None if nobody has drawn it yet;
    `sill_m`: height of its foot, None with `at_m` means 0. A lintel of some depth rests
    `bearing_m` on either side and is as thick as the wall: it takes the place of cob.
    """

    width_m: float
    height_m: float
    at_m: float | None = None
    sill_m: float | None = None
    lintel_depth_m: float = 0.0
    bearing_m: float = 0.0

    def __post_init__(self) -> None:
        check_size(self.width_m, field="walls.openings.width_m", most=MOST_LENGTH_M)
        check_size(self.height_m, field="walls.openings.height_m", most=MOST_HEIGHT_M)
        for field, value, most in (
            ("at_m", self.at_m, MOST_LENGTH_M),
            ("sill_m", self.sill_m, MOST_HEIGHT_M),
            ("lintel_depth_m", self.lintel_depth_m, MOST_HEIGHT_M),
            ("bearing_m", self.bearing_m, MOST_LENGTH_M),
        ):
            if value is not None:
                check_number(value, field=f"walls.openings.{field}", least=0, most=most)

    @property
    def foot_m(self) -> float | None:
        """Height of its foot, None if unknown."""
        return 0.0 if self.sill_m is None and self.at_m is not None else self.sill_m


@dataclass(frozen=True, slots=True)
class Hole:
    """A rectangle of a face without cob: an opening, or the seat of a lintel."""

    width_m: float
    height_m: float
    at_m: float | None
    foot_m: float | None
    lintel: bool = False

    @property
    def area_m2(self) -> float:
        """Its area."""
        return self.width_m * self.height_m

    @property
    def head_m(self) -> float:
        """Height of its top; on the plinth if its foot is unknown."""
        return (self.foot_m or 0.0) + self.height_m

    @property
    def placed(self) -> bool:
        """Whether both its place along the wall and its height are known."""
        return self.at_m is not None and self.foot_m is not None


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall. `run` is its centre line in plan, or only a length in m: it joins nothing then.

    `height`: one figure, or points (distance along, height), distances ascending, straight
    between and level beyond; a step is two points a centimetre apart.
    `thickness_m` is that at the bottom, `top_thickness_m` that at the greatest height of
    the wall (None: the same), straight between and alike on both sides of the centre line.
    Raises Refused: "openings_exceed_wall", "opening_outside_wall", "openings_overlap",
    "height_out_of_order", "wall_widens_upwards", "arc_too_tight", "not_a_sane_size".
    """

    run: float | Path
    height: float | Top
    thickness_m: float
    openings: tuple[Opening, ...] = ()
    top_thickness_m: float | None = None
    kind: Kind = Kind.OUTER
    plinth_m: float = 0.0
    name: str = ""

    @classmethod
    def straight(
        cls,
        length_m: float,
        height_m: float,
        thickness_m: float,
        openings: tuple[Opening, ...] = (),
    ) -> Wall:
        """A straight wall of one height and thickness, without a place in the plan."""
        return cls(length_m, height_m, thickness_m, openings)

    def __post_init__(self) -> None:
        if not isinstance(self.run, Path):
            check_size(self.run, field="walls.length_m", most=MOST_LENGTH_M)
        _check_height(self)
        _check_thickness(self)
        _check_openings(self)

    @property
    def length_m(self) -> float:
        """Length of the centre line."""
        return self.run.length_m if isinstance(self.run, Path) else self.run

    @property
    def top(self) -> Top:
        """Points of the top, from end to end."""
        if isinstance(self.height, tuple):
            return heights.whole(self.height, self.length_m)
        return ((0.0, self.height), (self.length_m, self.height))

    @property
    def height_m(self) -> float:
        """The greatest height above the plinth."""
        return max(height for _, height in self.top)

    @property
    def taper(self) -> float:
        """Thickness lost per metre of height."""
        if self.top_thickness_m is None:
            return 0.0
        return (self.thickness_m - self.top_thickness_m) / self.height_m

    def thickness_at(self, height_m: float) -> float:
        """Thickness at a height, in m."""
        return self.thickness_m - self.taper * height_m

    @property
    def holes(self) -> tuple[Hole, ...]:
        """What of a face is no cob: openings and lintels."""
        found = []
        for own in self.openings:
            found.append(Hole(own.width_m, own.height_m, own.at_m, own.foot_m))
            if own.lintel_depth_m > 0:
                found.append(_seat(own))
        return tuple(found)

    @property
    def gross_face_m2(self) -> float:
        """Area of one face, openings and all."""
        if isinstance(self.height, tuple):
            return heights.area(self.top)
        return self.length_m * self.height

    @property
    def face_m2(self) -> float:
        """Area of cob on one face: less openings and lintels."""
        return self.gross_face_m2 - sum(hole.area_m2 for hole in self.holes)

    @property
    def loose_share(self) -> float:
        """Share of the face that holes of unknown height take, of what the others leave."""
        loose = sum(hole.area_m2 for hole in self.holes if hole.foot_m is None)
        return loose / (self.face_m2 + loose) if loose else 0.0

    @property
    def placed_m3(self) -> float:
        """Volume of cob in this wall alone, in closed form.

        Face times thickness, or for a taper the prismatoid (Simpson) formula. Curves and
        corners: centre line times thickness (Pappus's second theorem for arcs).
        """
        if self.taper == 0:
            return self.face_m2 * self.thickness_m
        volume = (
            self.thickness_m * self.gross_face_m2
            - self.taper * heights.moment(self.top) / 2
        )
        for hole in self.holes:
            if hole.foot_m is not None:
                middle = hole.foot_m + hole.height_m / 2
                volume -= hole.area_m2 * self.thickness_at(middle)
        return volume * (1 - self.loose_share)


def _seat(own: Opening) -> Hole:
    at, foot = own.at_m, own.foot_m
    return Hole(
        own.width_m + 2 * own.bearing_m,
        own.lintel_depth_m,
        None if at is None else at - own.bearing_m,
        None if foot is None else foot + own.height_m,
        lintel=True,
    )


def _check_height(wall: Wall) -> None:
    if not isinstance(wall.height, tuple):
        check_size(wall.height, field="walls.height", most=MOST_HEIGHT_M)
        return
    for along, height in wall.height:
        check_number(along, field="walls.height", least=0, most=MOST_LENGTH_M)
        check_number(height, field="walls.height", least=0, most=MOST_HEIGHT_M)
    far = [along for along, _ in wall.height]
    if (
        not far
        or any(later <= sooner for sooner, later in pairwise(far))
        or far[-1] > wall.length_m + _EPS
    ):
        raise refuse(
            "height_out_of_order",
            field="walls.height",
            given=", ".join(f"{along:g}" for along in far) or "no points",
            message="distances must ascend and end within the length of the wall",
            remedy=f"Give each as metres from the start, at most {wall.length_m:g}.",
        )
    check_size(wall.height_m, field="walls.height", most=MOST_HEIGHT_M)


def _check_thickness(wall: Wall) -> None:
    check_size(wall.thickness_m, field="walls.thickness_m", most=MOST_THICKNESS_M)
    check_number(wall.plinth_m, field="walls.plinth_m", least=0, most=MOST_HEIGHT_M)
    if wall.top_thickness_m is not None:
        check_size(
            wall.top_thickness_m, field="walls.top_thickness_m", most=MOST_THICKNESS_M
        )
        if wall.top_thickness_m > wall.thickness_m:
            raise refuse(
                "wall_widens_upwards",
                field="walls.top_thickness_m",
                given=wall.top_thickness_m,
                message="a cob wall is no thicker at its top than at its bottom",
                remedy="Give the thickness at the bottom first, then that at the top.",
            )
    if isinstance(wall.run, Path):
        tightest = max(abs(own.bend) for own in segments(wall.run))
        if wall.thickness_m / 2 * tightest >= 1:
            raise refuse(
                "arc_too_tight",
                field="walls.thickness_m",
                given=wall.thickness_m,
                message=f"half the wall is thicker than the arc's radius {1 / tightest:g} m",
                remedy="Give a thinner wall, or an arc with a smaller rise.",
            )


def _check_openings(wall: Wall) -> None:
    holes = wall.holes
    if any(hole.head_m > wall.height_m + _EPS for hole in holes if not hole.placed):
        raise _exceeds(wall)
    for hole in holes:
        if hole.at_m is not None and not _within(wall, hole):
            raise refuse(
                "opening_outside_wall",
                field="walls.openings",
                given=f"from {hole.at_m:g} to {hole.at_m + hole.width_m:g} m along, "
                f"up to {hole.head_m:g} m",
                message="an opening or its lintel reaches beyond the wall",
                remedy="Move or shrink it, or give less bearing; "
                f"the wall is {wall.length_m:g} m long.",
            )
    for one, other in combinations([hole for hole in holes if hole.placed], 2):
        if _cross(one, other):
            raise refuse(
                "openings_overlap",
                field="walls.openings",
                given=f"at {one.at_m:g} m and at {other.at_m:g} m",
                message="two openings or lintels overlap",
                remedy="Move one, or give them one lintel.",
            )
    if wall.placed_m3 <= 0 or _crowded(wall):
        raise _exceeds(wall)


def _exceeds(wall: Wall) -> Refused:
    return refuse(
        "openings_exceed_wall",
        field="walls.openings",
        given=f"{len(wall.openings)} openings",
        message="the openings leave nothing of the wall",
        remedy="Check the sizes: metres, and openings no higher than the wall.",
    )


def _within(wall: Wall, hole: Hole) -> bool:
    low = hole.at_m or 0.0
    high = low + hole.width_m
    if low < -_EPS or high > wall.length_m + _EPS:
        return False
    return hole.head_m <= heights.lowest(wall.top, low, high) + _EPS


def _cross(one: Hole, other: Hole) -> bool:
    def apart(low: float, size: float, low2: float, size2: float) -> bool:
        return low + size <= low2 + _EPS or low2 + size2 <= low + _EPS

    return not (
        apart(one.at_m or 0.0, one.width_m, other.at_m or 0.0, other.width_m)
        or apart(one.foot_m or 0.0, one.height_m, other.foot_m or 0.0, other.height_m)
    )


def _crowded(wall: Wall) -> bool:
    """Whether the holes of known height are wider than the wall at some height."""
    known = [hole for hole in wall.holes if hole.foot_m is not None]
    for height in (hole.head_m for hole in known):
        low = height - 1e-6
        wide = sum(
            hole.width_m for hole in known if (hole.foot_m or 0) < low < hole.head_m
        )
        stands = sum(high - low for low, high in heights.standing(wall.top, low))
        if wide > stands + 1e-5 * (1 + stands):
            return True
    return False
