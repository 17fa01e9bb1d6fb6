"""What somebody wants planned."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from logistics.domain.calendar import days_between
from logistics.domain.errors import refuse
from logistics.domain.legal.seasons import WeakRoads

MOST_DAYS = 31


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """Builds, by their ids, and the days on which trucks may drive for them.

    `truck_ids` None means every truck. `reach_m` is the farthest road distance of an
    offer. `count_disposal` as in `Scenario`. `name` is what people call it. `safe`
    asks for a plan that holds at the far end of what is known. On days of `weak_roads`
    trucks may carry less. Raises Refused for days out of order or more
    than 31, and for builds or trucks named twice.
    """

    build_ids: tuple[int, ...]
    first_day: date
    last_day: date
    truck_ids: tuple[int, ...] | None = None
    reach_m: int = 80_000
    count_disposal: bool = True
    name: str = ""
    safe: bool = False
    weak_roads: WeakRoads | None = None

    def __post_init__(self) -> None:
        if not 0 <= (self.last_day - self.first_day).days < MOST_DAYS:
            raise refuse(
                "window_ends_before_it_begins",
                field="last_day",
                given=self.last_day,
                message=f"last_day must be on or within {MOST_DAYS} days of first_day",
                remedy="Correct the dates.",
            )
        for field, ids in (
            ("builds", self.build_ids),
            ("trucks", self.truck_ids or ()),
        ):
            if len(set(ids)) < len(ids):
                raise refuse(
                    "named_twice",
                    field=field,
                    given=", ".join(map(str, ids)),
                    message="one of these is named twice",
                    remedy="Name each once.",
                )

    @property
    def days(self) -> tuple[date, ...]:
        """The days, in order."""
        return days_between(self.first_day, self.last_day)
