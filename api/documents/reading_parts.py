"""Reading what all documents have in common: limits, hours, ranges, names of fields."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import time

from api.documents.parts import Access, Hours, PlaceFields, Range
from logistics.domain.calendar import ALWAYS, Span, WeeklyHours
from logistics.domain.errors import Refused
from logistics.domain.places import AccessLimits, Place, Point
from logistics.domain.quantities import Spread

_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@contextmanager
def within(field: str, *, drop: str = "", add: str = "") -> Iterator[None]:
    """Name the place in the document of what the domain refuses inside: `add` in place of
    the leading `drop`. `field` may be "", the document itself."""
    try:
        yield
    except Refused as refused:
        raise Refused(
            *(
                replace(
                    own,
                    field=f"{field}.{add}{own.field.removeprefix(drop)}".removeprefix(
                        "."
                    ),
                )
                for own in refused.problems
            )
        ) from None


def read_access(doc: Access) -> AccessLimits:
    """Access limits as they are compared."""
    return AccessLimits(
        max_gross_kg=doc.max_gross_kg,
        max_height_m=doc.max_height_m,
        max_width_m=doc.max_width_m,
        max_length_m=doc.max_length_m,
        max_axle_kg=doc.max_axle_kg,
        turning_m=doc.turning_m,
        slope_percent=doc.slope_percent,
        firmness=doc.firmness,
        wires=doc.wires,
        clear_height_m=doc.clear_height_m,
    )


def read_place(doc: PlaceFields, key: str) -> Place:
    """A place with its access card, gate and tip pin."""
    return Place(
        key=key,
        name=doc.name,
        point=Point(doc.lat, doc.lon),
        access=read_access(doc.access),
        at_once=doc.at_once,
        loads_a_day=doc.loads_a_day,
        tip=Point(doc.tip.lat, doc.tip.lon) if doc.tip else None,
    )


def read_hours(spans: Sequence[Hours]) -> WeeklyHours:
    """Weekly hours; none given means always open. Overlapping spans are joined."""
    if not spans:
        return ALWAYS
    days: list[tuple[Span, ...]] = []
    for name in _WEEKDAYS:
        own = sorted(
            (time.fromisoformat(span.opens), time.fromisoformat(span.closes))
            for span in spans
            if name in span.days
        )
        joined: list[Span] = []
        for opens, closes in own:
            if joined and opens <= joined[-1].closes:
                joined[-1] = Span(joined[-1].opens, max(closes, joined[-1].closes))
            else:
                joined.append(Span(opens, closes))
        days.append(tuple(joined))
    return WeeklyHours(tuple(days))


def spread(doc: Range, scale: float = 0.01) -> Spread:
    """A range in percent as shares."""
    low = doc.likely if doc.low is None else doc.low
    high = doc.likely if doc.high is None else doc.high
    return Spread(low * scale, doc.likely * scale, high * scale)
