"""The form "What do I order?": heaps, how much wall, and who mixes."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from api.documents.mixes import MixQuestionDoc
from api.documents.problems import read_document
from api.documents.text import minor_per_unit
from api.web.asking import Asked, Kind, Question
from api.web.linked import Rows
from api.web.typed import Typed, without_empty

SOIL = "soil"
WORDS = (
    (SOIL, "Soil: subsoil, dug earth"),
    ("concrete", "Sharp sand (concrete sand)"),
    ("masonry", "Soft sand (masonry)"),
    ("play", "Play sand"),
    ("beach", "Beach sand"),
    ("dune", "Dune sand"),
    ("unknown", "Sand, kind not known"),
)
NAME = Question("n", "Name", Kind.TEXT, hint="what you call it")
KIND = Question("k", "What it is", Kind.SELECT, options=WORDS, usual=SOIL)
CLAY = Question("c", "Clay, % likely")
CLAY_LOW = Question("cl", "Clay, % at least")
CLAY_HIGH = Question("ch", "Clay, % at most")
PAST = Question(
    "h",
    "Ground before (soil)",
    Kind.SELECT,
    options=(
        ("unknown", "Nobody asked yet"),
        ("clear", "Known and clean"),
        ("suspect", "Suspect: works, tip, fill"),
    ),
    usual="unknown",
    hint="what stood there, what was done there",
)
PRICE = Question("p", "Price per t", hint="delivered; 0 if free")
SILT = Question("s", "Silt, % likely")
AMOUNT = Question("a", "To be had, t moist")
STONES = Question("st", "Stones, %")
TOPSOIL = Question("ts", "Topsoil in it", Kind.TICK)
FIRST = (NAME, KIND, CLAY, CLAY_LOW, CLAY_HIGH, PRICE, PAST)
MORE = (SILT, AMOUNT, STONES)
OF_SOIL = (CLAY, CLAY_LOW, CLAY_HIGH, SILT, STONES, TOPSOIL)

WALL = Question("wall", "Wall, m³", hint="empty: figures for 1 m³")
NOVICES = Question("novices", "Helpers new to it", Kind.WHOLE)
TRAINED = Question("trained", "Helpers who have built", Kind.WHOLE)
MACHINE = Question("machine", "A digger mixes", Kind.TICK)
BUCKET = Question("bucket", "Bucket, litres", usual="10")
BALE = Question("bale", "One bale, kg", Kind.WHOLE, usual="16")
LOW = Question("low", "Clay of the mix, % at least", usual="15")
TARGET = Question("target", "Clay of the mix, % wanted", usual="20")
HIGH = Question("high", "Clay of the mix, % at most", usual="25")
AIM = Question(
    "aim",
    "Look for",
    Kind.SELECT,
    options=(
        ("target", "the mix nearest to the clay wanted"),
        ("cost", "the cheapest mix inside the window"),
    ),
    usual="target",
)
REST = (NOVICES, TRAINED, BUCKET, BALE, LOW, TARGET, HIGH, AIM)
HEAPS = Rows(
    page="mix",
    names=tuple(own.name for own in (*FIRST, *MORE, TOPSOIL)),
    anchor="heap-",
    least=2,
    most=6,
    usual={own.name: own.usual for own in (*FIRST, *MORE, *REST)},
)


@dataclass(frozen=True, slots=True)
class Heap:
    """One row of the form. `wrong` opens what is folded away."""

    number: int
    first: tuple[Asked, ...]
    more: tuple[Asked, ...]
    topsoil: Asked
    opened: bool


@dataclass(frozen=True, slots=True)
class OrderForm:
    """The form as the page shows it."""

    heaps: tuple[Heap, ...]
    wall: Asked
    rest: tuple[Asked, ...]
    machine: Asked
    opened: bool
    full: bool


def order_form(typed: Typed) -> OrderForm:
    """The form with what was typed."""
    count = HEAPS.shown(typed.query)
    heaps = []
    for number in range(1, count + 1):
        row = str(number)
        more = typed.several(MORE, row)
        topsoil = typed.asked(TOPSOIL, row)
        heaps.append(
            Heap(
                number,
                typed.several(FIRST, row),
                more,
                topsoil,
                any(own.value or own.problem for own in (*more, topsoil)),
            )
        )
    rest, machine = typed.several(REST), typed.asked(MACHINE)
    return OrderForm(
        tuple(heaps),
        typed.asked(WALL),
        rest,
        machine,
        any(own.problem for own in rest)
        or any(typed.query.get(own.name) for own in (*REST, MACHINE)),
        count == HEAPS.most,
    )


@dataclass(frozen=True, slots=True)
class Order:
    """The question; `unasked` names soils of whose ground nobody knows the past: they are
    taken as clean, and whoever shows the answer must say so. `exact` names soils whose
    clay was given without its ends."""

    doc: MixQuestionDoc
    unasked: tuple[str, ...]
    exact: tuple[str, ...]


def read_order_form(typed: Typed, currency: str) -> Order:
    """The question of the form. Raises Refused with paths of the document."""
    unasked: list[str] = []
    heaps = [
        _heap(typed, row, at, unasked, currency)
        for at, row in enumerate(HEAPS.filled(typed.query))
    ]
    body = without_empty(
        {
            "materials": heaps,
            "wall_m3": typed.value(WALL, "wall_m3"),
            "mix": _mix(typed),
            "aim": typed.value(AIM, "aim"),
            "bucket_l": typed.value(BUCKET, "bucket_l"),
            "bale": {"kg": typed.value(BALE, "bale.kg")},
            "crew": _crew(typed),
        }
    )
    typed.check()
    doc = read_document(MixQuestionDoc, json.dumps(body).encode())
    return Order(doc, tuple(unasked), tuple(_exact(doc)))


def _exact(doc: MixQuestionDoc) -> Iterator[str]:
    for own in doc.materials:
        clay = own.material.clay_percent if own.material.kind == "subsoil" else None
        if clay and clay.low is None and clay.high is None:
            yield own.name


def _heap(
    typed: Typed, row: str, at: int, unasked: list[str], currency: str
) -> dict[str, object]:
    who, base = f"Heap {row}", f"materials.{at}"

    def value(own: Question, path: str) -> object:
        return typed.value(own, f"{base}.{path}", row, who)

    name = str(value(NAME, "name") or who)
    kind = value(KIND, "material.sand.sand")
    if kind == SOIL:
        material = _soil(typed, row, at)
        if material.get("history") == "unknown":
            # What to order is worked out as if it were clean, and said to hang on that.
            material["history"] = "clear"
            unasked.append(name)
    else:
        if kind:
            _only_of_soil(typed, row, who)
        material = {"kind": "sand", "sand": kind}
    price, amount = (
        value(PRICE, "delivered_minor_per_t"),
        value(AMOUNT, "amount.amount"),
    )
    return without_empty(
        {
            "name": name,
            "material": material,
            "delivered_minor_per_t": round(price * minor_per_unit(currency))
            if isinstance(price, float)
            else None,
            "amount": {"amount": amount, "unit": "t", "basis": "moist"}
            if amount is not None
            else None,
        }
    )


def _only_of_soil(typed: Typed, row: str, who: str) -> None:
    """Refuse what would be dropped without a word: a sand is judged by what it is called."""
    for own in OF_SOIL:
        if typed.text(own, row):
            typed.refuse(
                own,
                row,
                who,
                "this is asked of soils only",
                "Choose soil for a sandy heap with clay in it, or leave this empty.",
            )


def _soil(typed: Typed, row: str, at: int) -> dict[str, object]:
    who, base = f"Heap {row}", f"materials.{at}.material.subsoil"

    def value(own: Question, path: str) -> object:
        return typed.value(own, f"{base}.{path}", row, who)

    clay = without_empty(
        {
            "likely": value(CLAY, "clay_percent.likely"),
            "low": value(CLAY_LOW, "clay_percent.low"),
            "high": value(CLAY_HIGH, "clay_percent.high"),
        }
    )
    silt = without_empty({"likely": value(SILT, "silt_percent.likely")})
    return without_empty(
        {
            "kind": "subsoil",
            "clay_percent": _with_likely(clay),
            "silt_percent": silt,
            "stones_percent": value(STONES, "stones_percent"),
            "topsoil": bool(value(TOPSOIL, "topsoil")),
            "history": value(PAST, "history"),
        }
    )


def _with_likely(clay: dict[str, object]) -> dict[str, object]:
    """Two ends without a likely figure stand for their middle."""
    low, high = clay.get("low"), clay.get("high")
    if "likely" not in clay and isinstance(low, float) and isinstance(high, float):
        return {"likely": (low + high) / 2, **clay}
    return clay


def _mix(typed: Typed) -> dict[str, object]:
    return without_empty(
        {
            "clay_low_percent": typed.value(LOW, "mix.clay_low_percent"),
            "clay_target_percent": typed.value(TARGET, "mix.clay_target_percent"),
            "clay_high_percent": typed.value(HIGH, "mix.clay_high_percent"),
        }
    )


def _crew(typed: Typed) -> dict[str, object]:
    crew = without_empty(
        {
            "novices": typed.value(NOVICES, "crew.novices"),
            "trained": typed.value(TRAINED, "crew.trained"),
        }
    )
    if not any(crew.values()):
        return {}
    return {**crew, "machine": bool(typed.value(MACHINE, "crew.machine"))}
