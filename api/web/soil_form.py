"""What the forms for tests of a soil have in common: their parts, and the sample's label."""

from __future__ import annotations

from dataclasses import dataclass

from api.web.asking import Group, Kind, Question


@dataclass(frozen=True, slots=True)
class SoilForm:
    """A kind of test: its name, one line on how, how long, and its questions. `stop` is a
    caution that belongs to it; `sieves`: a table of sieves may take their place."""

    kind: str
    title: str
    how: str
    takes: str
    groups: tuple[Group, ...]
    stop: str = ""
    sieves: bool = False


SAMPLE = (
    Group(
        "Depth of the sample below the grass",
        (
            Question("sample.depth_from_m", "From", unit="m", needed=True),
            Question("sample.depth_to_m", "To", unit="m", needed=True),
        ),
        row=True,
    ),
    Group(
        "",
        (
            Question(
                "sample.tester",
                "Tested by",
                kind=Kind.TEXT,
                needed=True,
                autocomplete="name",
            ),
            Question("sample.taken_on", "Taken on", kind=Kind.DAY, needed=True),
            Question("sample.place", "Place in heap", kind=Kind.TEXT),
            Question("sample.rained_since", "Rain on it since", kind=Kind.TICK),
        ),
        row=True,
    ),
)
