"""A plan document as the plan page shows it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from api.documents.check_words import check_words
from api.documents.plan_models import (
    LoadAnswer,
    NeedAnswer,
    PlanAnswer,
    SavingAnswer,
    ShiftAnswer,
    StopAnswer,
)
from api.exports.wording import DOING
from api.templatetags.units import GAP, cost, km, m3, minutes, percent, tonnes, weekday
from api.web.bill import bill
from api.web.timeline import chart
from api.web.words import bound_words, ends_words, haul_bound_words
from logistics.domain.planning.result import StopKind

WIDE, NARROW = 1000, 350


@dataclass(frozen=True, slots=True)
class StopLine:
    """A stop with what happens there."""

    own: StopAnswer
    doing: str
    details: tuple[str, ...]
    ticket: str = ""


@dataclass(frozen=True, slots=True)
class ShiftTable:
    """A shift with its stops in words."""

    own: ShiftAnswer
    stops: tuple[StopLine, ...]


@dataclass(frozen=True, slots=True)
class LeftOver:
    """Something that no shift carries or no offer supplies."""

    title: str
    reasons: tuple[str, ...]
    remedies: tuple[str, ...]
    proof: str


@dataclass(frozen=True, slots=True)
class SavingCard:
    """What a holder saves, and the fair split in a sentence."""

    name: str
    avoided_minor: int
    split: str


@dataclass(frozen=True, slots=True)
class Blend:
    """How what a plan brings to a build is mixed."""

    build: str
    buckets: str
    words: tuple[str, ...]
    notes: tuple[str, ...]


def plan_context(plan: PlanAnswer) -> dict[str, Any]:
    """Everything that the template of the plan page shows of the document."""
    return {
        "plan": plan,
        "bill": bill(plan),
        "bound": bound_words(plan),
        "ends": list(ends_words(plan)),
        "haul_bound": haul_bound_words(plan),
        "wide": chart(plan.shifts, WIDE),
        "narrow": chart(plan.shifts, NARROW),
        "shifts": [ShiftTable(own, tuple(_stops(own))) for own in plan.shifts],
        "left": [*_short(plan), *_unplanned(plan)],
        "checks": [check_words(own) for own in plan.truck_checks],
        "decides": list(dict.fromkeys(own.decides for own in plan.truck_checks)),
        "blends": list(_blends(plan)),
        "dues": list(_dues(plan)),
        "laters": list(_laters(plan)),
        "savings": [_saving(own, plan.currency) for own in plan.savings],
    }


def _stops(shift: ShiftAnswer) -> Iterator[StopLine]:
    loads = iter(shift.loads)
    for stop in shift.stops:
        parts, ticket = [], ""
        load = None if stop.trip is None else shift.loads[stop.trip]
        if stop.kind == StopKind.LOAD:
            load = load or next(loads, None)
            parts.append(_load(load))
            ticket = (load and load.ticket) or ""
        elif stop.kind == StopKind.TIP and stop.load:
            parts.append(stop.load.replace(" t", f"{GAP}t"))
        if stop.leg_km:
            parts.append(f"{km(stop.leg_km)} in {minutes(stop.leg_minutes)}")
        yield StopLine(stop, DOING[stop.kind], tuple(parts), ticket)


def _load(load: LoadAnswer | None) -> str:
    if load is None:
        return "still aboard where the shift broke off"
    full = f"full by {load.bound}" if load.bound else "part load"
    return f"{load.material}, {tonnes(load.moist_kg, 2)}, {m3(load.loose_m3)} ({full})"


def _short(plan: PlanAnswer) -> Iterator[LeftOver]:
    for build in plan.builds:
        for need in build.needs:
            if need.short_reason:
                yield LeftOver(
                    f"{build.name} is short of {tonnes(need.short_dry_kg)} (dry) of"
                    f" {' and '.join(need.materials)}",
                    (need.short_reason,),
                    tuple(need.help),
                    "",
                )


def _unplanned(plan: PlanAnswer) -> Iterator[LeftOver]:
    for own in plan.unplanned:
        deal = plan.deals[own.deal]
        yield LeftOver(
            f"{tonnes(own.moist_kg, 2)} of {deal.offer_name} to {deal.build_name}",
            tuple(own.reasons),
            (own.remedy,) if own.remedy else (),
            "Proven: no plan can carry it."
            if own.proven
            else "No plan was found that carries it; that none exists is not proven.",
        )


def _blends(plan: PlanAnswer) -> Iterator[Blend]:
    """How each build mixes; lifts that mix alike are said once."""
    found: dict[Blend, None] = {}
    for build in plan.builds:
        for need in build.needs:
            words = tuple(_blend_words(need))
            if words:
                recipe = need.recipe
                own = Blend(
                    build.name,
                    recipe.buckets if recipe else "",
                    words,
                    tuple(recipe.notes) if recipe else (),
                )
                found[own] = None
    yield from found


def _blend_words(need: NeedAnswer) -> Iterator[str]:
    recipe = need.recipe
    if recipe:
        shares = (
            f"{percent(own.share_percent)} {own.offer_name}" for own in recipe.shares
        )
        yield f"By dry mass: {', '.join(shares)}."
        if recipe.batch:
            yield recipe.batch
    clay, window = need.blend_clay_percent, need.clay_window_percent
    if clay and window:
        yield (
            f"The blend has {percent(clay.likely)} clay ({clay.low:g} to"
            f" {percent(clay.high)}); wanted {window[0]:g} to {percent(window[1])}."
            + (
                " In doubt: a better test of the soil would tell."
                if need.blend_in_doubt
                else ""
            )
        )


def _dues(plan: PlanAnswer) -> Iterator[str]:
    """When dated needs are wanted."""
    for build in plan.builds:
        for need in build.needs:
            if need.due:
                yield (
                    f"{build.name}: {_materials(need.materials)} on site by"
                    f" {weekday(need.due)}{_from(need.not_before, need.due)}."
                )


def _laters(plan: PlanAnswer) -> Iterator[str]:
    """What this plan leaves to a later one."""
    for build in plan.builds:
        for own in build.later:
            yield (
                f"{build.name}: {tonnes(own.dry_kg.likely)} (dry;"
                f" {own.dry_kg.low / 1000:.1f} to {tonnes(own.dry_kg.high)}) of"
                f" {_cargo_words(own.need)} by {weekday(own.due)}"
                f"{_from(own.not_before, own.due)}."
            )


def _materials(own: Sequence[str]) -> str:
    return " and ".join(own)


def _cargo_words(need: str) -> str:
    """What a need of a calendar is for, by its key: straw, or the blend."""
    return "straw" if "straw" in need.rpartition("/")[2] else "soil and sand"


def _from(first: date | None, due: date) -> str:
    return f", not before {weekday(first)}" if first and first != due else ""


def _saving(own: SavingAnswer, currency: str) -> SavingCard:
    if own.worth_minor is None:
        split = "The builders cannot do without this offer, so no split is proposed."
    elif own.payment_minor is None or own.gain_each_minor is None:
        split = "The two sides gain nothing together, so no split is proposed."
    else:
        who = (
            "The holder pays the builders"
            if own.payment_minor >= 0
            else "The builders pay the holder"
        )
        split = (
            f"{who} {cost(abs(own.payment_minor), currency)} on top of the price; then"
            f" each side is"
            f" {cost(own.gain_each_minor, currency)} better off than alone."
        )
    return SavingCard(own.offer_name, own.avoided_minor, split)
