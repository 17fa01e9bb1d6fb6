"""What is different in a plan made anew, as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from api.documents.replan_models import ChangeAnswer, PlacedAnswer, ReplanAnswer
from api.documents.text import money
from logistics.domain.living.changes import ChangeKind


def replan_text(answer: ReplanAnswer, currency: str) -> str:
    """The difference to the plan that was replaced; loads that stay are only counted."""
    return "\n".join(_lines(answer, currency)) + "\n"


def _lines(own: ReplanAnswer, currency: str) -> Iterator[str]:
    yield from ["", f"WHAT IS DIFFERENT, as of {own.as_of:%a %d %b %Y %H:%M}"]
    yield from (f"  {what}" for what in own.what)
    yield (
        f"  Loads: {own.kept} kept, {own.moved} moved, {own.added} new,"
        f" {own.dropped} dropped"
    )
    yield (
        f"  Haulage: {money(own.haul_before_minor, currency)} before,"
        f" {money(own.haul_after_minor, currency)} now"
        f" ({_extra(own.extra_minor, currency)})"
    )
    if own.left_before_kg or own.left_after_kg:
        before, after = own.left_before_kg / 1000, own.left_after_kg / 1000
        yield f"  Without a truck: {before:.2f} t before, {after:.2f} t now"
    for change in own.changes:
        if change.kind is not ChangeKind.KEPT:
            yield from _change(change)


def _extra(minor: int, currency: str) -> str:
    if not minor:
        return "the same"
    return f"{money(abs(minor), currency)} {'more' if minor > 0 else 'less'}"


def _change(own: ChangeAnswer) -> Iterator[str]:
    yield f"  {own.kind.value.upper()}: {own.text}"
    if own.was:
        yield f"    was {_placed(own.was)}"
    if own.now:
        yield f"    now {_placed(own.now)}"


def _placed(own: PlacedAnswer) -> str:
    return (
        f"{own.day} {own.truck_name}: loads {own.loads_at:%H:%M}, tips"
        f" {own.tips_at:%H:%M}, {own.moist_kg / 1000:.2f} t"
    )
