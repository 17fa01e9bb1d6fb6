"""Documents of walls: drawn simply by length and height, or by their path and their top."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.quantity import Document, Name

MOST_CORNERS = 400
"""Legs, points of tops and placed openings of all walls with a path: where they meet, each
level of each is cut with all others."""


class OpeningDoc(Document):
    """A door or window in a wall."""

    width_m: float = Field(gt=0, le=50, description="metres")
    height_m: float = Field(gt=0, le=20, description="metres")
    at_m: float | None = Field(
        default=None,
        ge=0,
        le=1000,
        description="metres from the start of the wall to its nearer side; null: not drawn"
        " yet, it thins the wall evenly",
    )
    sill_m: float | None = Field(
        default=None,
        ge=0,
        le=20,
        description="its foot above the plinth, metres; 0 where at_m is given",
    )
    lintel_depth_m: float = Field(
        default=0, ge=0, le=5, description="depth of its lintel, no cob there, metres"
    )
    bearing_m: float = Field(
        default=0, ge=0, le=5, description="rest of the lintel on either side, metres"
    )


class LegDoc(Document):
    """One piece of a path, by where it ends."""

    x_m: float = Field(ge=-10_000, le=10_000, description="metres east")
    y_m: float = Field(ge=-10_000, le=10_000, description="metres north")
    rise_m: float = Field(
        default=0,
        ge=-10_000,
        le=10_000,
        description="of an arc: how far its middle stands off the middle of a string"
        " between its ends, metres; above 0 to the left of the walk, below to the right",
    )


class PathDoc(Document):
    """A centre line from a corner of the site that you choose."""

    x_m: float = Field(ge=-10_000, le=10_000, description="start, metres east")
    y_m: float = Field(ge=-10_000, le=10_000, description="start, metres north")
    legs: list[LegDoc] = Field(
        min_length=1,
        max_length=200,
        description="its pieces in turn; it may end where it began",
    )


class HeightDoc(Document):
    """A point of the top of a wall."""

    at_m: float = Field(ge=0, le=1000, description="metres from the start of the wall")
    height_m: float = Field(ge=0, le=20, description="metres above the plinth")


class WallDoc(Document):
    """A wall without its plinth: length_m or path, height_m or heights."""

    name: Name | None = Field(default=None, description="what people call it, one line")
    kind: Literal["outer", "inner", "bench"] = Field(
        default="outer", description="bench: also a buttress; low and thick"
    )
    length_m: float | None = Field(
        default=None,
        gt=0,
        le=500,
        description="of a straight wall that joins no other, metres",
    )
    path: PathDoc | None = Field(
        default=None,
        description="centre line in plan; what walls share where they meet counts once",
    )
    height_m: float | None = Field(
        default=None, gt=0, le=20, description="of a level top, metres above the plinth"
    )
    heights: list[HeightDoc] | None = Field(
        default=None,
        min_length=1,
        max_length=100,
        description="points of the top, straight between and level beyond, such as a gable",
    )
    thickness_m: float = Field(ge=0.02, le=3, description="at its bottom, metres")
    top_thickness_m: float | None = Field(
        default=None,
        ge=0.02,
        le=3,
        description="where it is highest, metres; null: the same as at its bottom",
    )
    plinth_m: float = Field(
        default=0, ge=0, le=20, description="height of its plinth, no cob, metres"
    )
    openings: list[OpeningDoc] = Field(
        default=[], max_length=100, description="doors and windows, not filled with cob"
    )

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        for plain, drawn, what in (
            ("length_m", "path", "its length"),
            ("height_m", "heights", "its height"),
        ):
            given = [n for n in (plain, drawn) if getattr(self, n) is not None]
            if len(given) != 1:
                raise PydanticCustomError(
                    "wall_said_twice" if given else "wall_not_said",
                    f"a wall says {what} once",
                    {
                        "field": drawn if given else plain,
                        "given": " and ".join(given) or "none",
                        "remedy": f"Give {plain} or {drawn}, and not the other.",
                    },
                )
        return self


def corners(walls: list[WallDoc]) -> int:
    """How much the walls with a path have that can meet."""
    return sum(
        len(own.path.legs) + len(own.heights or ()) + len(own.openings)
        for own in walls
        if own.path
    )
