"""What was checked of a truck, in words that files and pages share."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from api.documents.truck_checks import LineCheck, PlaceCheck, TruckCheck
from logistics.domain.access import LineState


@dataclass(frozen=True, slots=True)
class CheckWords:
    """A check of a truck in sentences.

    `load` is its payload and where that comes from, `fails` and `look` name access lines
    that fail and that nobody can tell, `silent` what places say nothing of, `kept` what
    was compared and kept, `unchecked` what was not looked at.
    """

    name: str
    days: tuple[date, ...]
    load: str
    binds: str
    source: str
    fails: tuple[str, ...]
    look: tuple[str, ...]
    silent: tuple[str, ...]
    kept: tuple[str, ...]
    unchecked: str


def check_words(check: TruckCheck) -> CheckWords:
    """The check in words; places of which the same is to be said are named together."""
    return CheckWords(
        name=check.truck_name,
        days=tuple(date.fromisoformat(day) for day in check.days),
        load=_load(check),
        binds=check.binds,
        source=check.source,
        fails=tuple(_lines(check.places, LineState.FAILS)),
        look=tuple(_lines(check.places, LineState.UNKNOWN)),
        silent=tuple(_together(check.places, LineState.UNKNOWN)),
        kept=tuple(_together(check.places, LineState.OK)),
        unchecked=", ".join(check.unchecked),
    )


def _load(check: TruckCheck) -> str:
    gross = "" if check.gross_kg is None else f" ({_tonnes(check.gross_kg)} in all)"
    return f"loads at most {_tonnes(check.payload_kg)}{gross}, by {check.rule}"


def _lines(places: Sequence[PlaceCheck], state: LineState) -> Iterator[str]:
    for place in places:
        for own in place.lines:
            if own.state is state and not _nobody_said(own):
                yield (
                    f"{place.place_name}, {_aboard(place.load_kg)}: {own.line}: the truck"
                    f" {own.words}"
                )


def _together(places: Sequence[PlaceCheck], state: LineState) -> Iterator[str]:
    """Names of lines, one sentence for all places with the same ones."""
    found: dict[tuple[str, ...], list[str]] = {}
    for place in places:
        lines = tuple(
            own.line
            for own in place.lines
            if own.state is state and (state is LineState.OK or _nobody_said(own))
        )
        if lines:
            found.setdefault(lines, []).append(place.place_name)
    for lines, names in found.items():
        # Names of places have commas of their own.
        yield f"{'; '.join(names)}: {', '.join(lines)}"


def _nobody_said(own: LineCheck) -> bool:
    """Whether a line is not known because the card of the place is silent on it."""
    return own.state is LineState.UNKNOWN and own.words.startswith("the place")


def _aboard(load_kg: int) -> str:
    return f"with {_tonnes(load_kg)} aboard" if load_kg else "empty"


def _tonnes(kg: int) -> str:
    return f"{kg / 1000:.2f} t"
