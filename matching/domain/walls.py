"""Walls as they are drawn."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse


@dataclass(frozen=True, slots=True)
class Opening:
    """A door or window, in m."""

    width_m: float
    height_m: float


@dataclass(frozen=True, slots=True)
class Wall:
    """A straight wall of one thickness, in m, without its plinth.

    Raises Refused when the openings are not smaller than the wall.
    """

    length_m: float
    height_m: float
    thickness_m: float
    openings: tuple[Opening, ...] = ()

    def __post_init__(self) -> None:
        if self.face_m2 <= 0 or any(o.height_m > self.height_m for o in self.openings):
            raise refuse(
                "openings_exceed_wall",
                field="walls.openings",
                given=f"{len(self.openings)} openings",
                message="the openings leave nothing of the wall",
                remedy="Check the sizes: metres, and openings no higher than the wall.",
            )

    @property
    def face_m2(self) -> float:
        """Area of one face less the openings."""
        holes = sum(opening.width_m * opening.height_m for opening in self.openings)
        return self.length_m * self.height_m - holes

    @property
    def placed_m3(self) -> float:
        """Volume in the wall."""
        return self.face_m2 * self.thickness_m
