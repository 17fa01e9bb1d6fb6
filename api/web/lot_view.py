"""Sand and straw as a page shows them: verdict, figures and curve, bales and keeping."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from api.documents.evidence_answers import (
    LimitAnswer,
    SandFiguresAnswer,
    StrawTestAnswer,
)
from api.documents.lots_document import sand_test_answer, straw_test_answer
from api.documents.questions import KgRange
from api.pictures.curve import Curve, curve
from api.pictures.drawing import Both, both
from api.templatetags.units import GAP, m3, weekday
from api.web.soil_view import range_words
from api.web.words import VerdictWords, verdict_words
from logistics.domain.trucks import Cargo
from matching.domain.grading import Grading, Sieving
from matching.domain.materials import Sand, Straw
from matching.domain.sands.limits import Limit

Fact = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Against:
    """A sand against one published limit."""

    title: str
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class SandView:
    """All that a page says of a sand."""

    verdict: VerdictWords
    facts: tuple[Fact, ...]
    curve: Both[Curve] | None
    limits: tuple[Against, ...]


@dataclass(frozen=True, slots=True)
class StrawView:
    """All that a page says of a lot of straw."""

    verdict: VerdictWords
    facts: tuple[Fact, ...]
    keeping: tuple[Fact, ...]
    advice: tuple[tuple[str, str], ...]
    compost: str


def sand_view(sand: Sand, sieving: Sieving | None = None) -> SandView:
    """A sand judged for large walls."""
    answer = sand_test_answer(sand, sieving)
    own = answer.verdict
    grading = sand.record.grading
    figures = answer.figures
    facts = [("Clay in it", range_words(answer.clay_percent, 1))]
    if answer.silt_percent:
        facts.append(("Silt in it", range_words(answer.silt_percent, 1)))
    return SandView(
        verdict_words(own.standing, own.reasons, Cargo.SAND, own.cautions),
        (*facts, *(_figures(figures) if figures else ())),
        None if grading is None else _curve(grading),
        tuple(_against(one) for one in figures.limits) if figures else (),
    )


def _curve(grading: Grading) -> Both[Curve]:
    return both(lambda size: curve(grading, limit=Limit.ASTM_C33, size=size))


def _figures(own: SandFiguresAnswer) -> Iterator[Fact]:
    low, high = f"{own.fineness_low:.2f}", f"{own.fineness_high:.2f}"
    yield "Fineness modulus", low if low == high else f"{low} to {high}"
    for name, size in (("D10", own.d10_mm), ("D30", own.d30_mm), ("D60", own.d60_mm)):
        yield (
            name,
            "beyond the sieves" if size is None else f"{size:.2g}{GAP}mm",
        )
    if own.uniformity is not None:
        yield "Uniformity", f"{own.uniformity:.1f}"
    if own.curvature is not None:
        yield "Curvature", f"{own.curvature:.2f}"
    if own.unified:
        yield "Unified class", " or ".join(own.unified)
    if own.loss_percent is not None:
        yield (
            "Lost in sieving",
            f"{own.loss_percent:.1f}{GAP}%"
            + ("" if own.adds_up else ": more than a good sieving loses, weigh again"),
        )


def _against(own: LimitAnswer) -> Against:
    if own.inside is None:
        missing = ", ".join(f"{size:g}" for size in own.unmeasured_mm)
        words = f"cannot be told: no sieve at {missing} mm"
        if not missing:
            words = "cannot be told: the sieves leave its fineness modulus open"
        return Against(own.title, words, own.source)
    if own.inside:
        return Against(own.title, "inside", own.source)
    if not own.departures:
        words = (
            "outside: inside on every sieve, but not in its fineness modulus or in what"
            " lies between two sieves"
        )
        return Against(own.title, words, own.source)
    worst = max(own.departures, key=lambda at: abs(at.by_points))
    side = "too much" if worst.by_points > 0 else "too little"
    words = (
        f"outside: {side} passes {worst.size_mm:g} mm ({worst.passing_percent:.0f} %,"
        f" allowed {worst.low_percent:.0f} to {worst.high_percent:.0f})"
    )
    return Against(own.title, words, own.source)


def straw_view(
    straw: Straw, wanted: KgRange | None, needed_on: date | None, *, in_year: int
) -> StrawView:
    """Straw judged in a year, counted and kept. Raises Refused for a harvest to come."""
    answer = straw_test_answer(straw, wanted, needed_on, in_year=in_year)
    own = answer.verdict
    return StrawView(
        verdict_words(own.standing, own.reasons, Cargo.STRAW, own.cautions),
        tuple(_bales(answer)),
        tuple(_keeping(answer)),
        tuple((one.text, one.source) for one in answer.advice),
        "Surplus may become compost or mulch: it was declared free of persistent"
        " herbicides."
        if answer.compostable
        else "Surplus must not become compost or mulch: nobody declared it free of"
        " persistent herbicides. It does not harm the wall.",
    )


def _bales(answer: StrawTestAnswer) -> Iterator[Fact]:
    if answer.bales is not None:
        low, high = f"{answer.bales.low:.0f}", f"{answer.bales.high:.0f}"
        yield "Bales", low if low == high else f"{low} to {high}"
    bale = answer.bale
    near = "" if bale.named else ", taken as the nearest form"
    yield "Form", bale.title + near
    yield "One bale", f"{bale.kg}{GAP}kg, {bale.m3:.2f}{GAP}m³"
    yield "Carried by", "two people" if bale.by_hand else "a machine"
    if bale.dry_kg_per_m3 is not None:
        yield "Density, dry", f"{bale.dry_kg_per_m3:.0f}{GAP}kg/m³"
    if answer.deliver_on is not None:
        yield "Bring it on", weekday(answer.deliver_on)


def _keeping(answer: StrawTestAnswer) -> Iterator[Fact]:
    own = answer.keeping
    if own is None:
        return
    yield "Stack of", f"{own.bales} bales, {m3(own.volume_m3)}"
    yield "Ground", f"{own.footprint_m2:.1f}{GAP}m², {own.height_m:.1f}{GAP}m high"
    yield "Layers", f"{own.layers} on {own.pallets} pallets"
    yield "Tarpaulin", f"{own.tarpaulin_m2:.0f}{GAP}m²"
    yield "Clear of buildings", f"{own.between_stacks_m:.0f}{GAP}m"
