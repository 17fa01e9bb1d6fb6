"""Needs with their matches as cards: what a page shows, ready made."""

from __future__ import annotations

from dataclasses import dataclass

from api.documents.market import MatchesAnswer, StoredNeedAnswer
from api.documents.plan_models import MatchAnswer
from api.pictures.cost_bars import CostBars, CostPart, cost_bars
from api.pictures.drawing import Both, both
from api.web.words import VerdictWords, price_words, verdict_words
from logistics.domain.trucks import Cargo

BAR = 100.0
# The patterns are drawn in the sprite of the base page.
FILLS = {"subsoil": "#7a4a2b", "sand": "url(#dots)", "straw": "#f4e3a1"}


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a recipe: `x` and `width` are its place in a bar 100 wide."""

    name: str
    material: str
    fill: str
    moist_kg: int
    loads: int
    material_minor: int
    haul_minor: int
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Card:
    """One usable match. `same_as` is the rank of an earlier one with the same recipe: a
    blend is found from each of its parts."""

    rank: int
    offer: str
    name: str
    material: str
    verdict: VerdictWords
    low_minor: int | None
    high_minor: int | None
    in_doubt: bool
    cost_minor: int
    road_km: float | None
    price: str
    material_minor: int
    haul_minor: int
    parts: tuple[Part, ...]
    same_as: int | None


@dataclass(frozen=True, slots=True)
class Refusal:
    """One match that cannot be used, and why."""

    name: str
    material: str
    verdict: VerdictWords
    why: str


@dataclass(frozen=True, slots=True)
class NeedPage:
    """A need, its best matches and those that will not do.

    `per` says what the cost of a card is for; typed needs have no wall to divide by.
    """

    title: str
    dry_kg: float
    wanted: str
    per: str
    best: tuple[Card, ...]
    more: tuple[Card, ...]
    refused: tuple[Refusal, ...]
    left_out: int
    made_of: Both[CostBars] | None


BEST = 3
TITLES = {"mineral": "Earth and sand"}


def need_title(cargo: str) -> str:
    """What a need asks for, in words."""
    return TITLES.get(cargo, cargo.capitalize())


def need_page(answer: MatchesAnswer, *, currency: str) -> NeedPage:
    """A need with its cards, in the order of the ranking."""
    need = answer.need
    materials = {match.offer: match.material for match in answer.matches}
    usable = [match for match in answer.matches if match.cost_per_m3_minor is not None]
    first: dict[frozenset[tuple[str, int]], int] = {}
    cards = tuple(
        _card(rank, match, materials, currency, first.setdefault(_recipe(match), rank))
        for rank, match in enumerate(usable, start=1)
    )
    return NeedPage(
        title=need_title(need.cargo),
        dry_kg=need.dry_kg.likely,
        wanted=_wanted(need),
        per="per m³ of finished wall" if need.computed else "per dry tonne",
        best=cards[:BEST],
        more=cards[BEST:],
        refused=tuple(
            _refusal(match)
            for match in answer.matches
            if match.cost_per_m3_minor is None
        ),
        left_out=answer.left_out,
        made_of=_made_of(cards[0], need, currency) if cards else None,
    )


LOOKS = {"subsoil": "soil", "sand": "sand", "straw": "straw"}


def _made_of(
    card: Card, need: StoredNeedAnswer, currency: str
) -> Both[CostBars] | None:
    """What a m3 of wall, or a dry tonne, costs with the best match, part by part."""
    whole = card.material_minor + card.haul_minor
    if whole == 0:
        return None
    scale = card.cost_minor / whole
    parts = [
        CostPart(own.name, round(own.material_minor * scale), LOOKS[own.material])
        for own in card.parts
    ]
    parts.append(
        CostPart("Haul", card.cost_minor - sum(p.minor for p in parts), "haul")
    )
    what = "a m³ of finished wall" if need.computed else "a dry tonne"
    title = f"What {what} costs with {card.name}"
    return both(
        lambda size: cost_bars(title, parts, currency, size=size, key=f"cost-{need.id}")
    )


def _wanted(need: StoredNeedAnswer) -> str:
    if not need.clay_window_percent:
        return ""
    low, high = need.clay_window_percent
    return f"The blend should hold {low:g} to {high:g} % clay."


def _recipe(match: MatchAnswer) -> frozenset[tuple[str, int]]:
    return frozenset((part.offer, part.moist_kg) for part in match.recipe)


def _card(
    rank: int,
    match: MatchAnswer,
    materials: dict[str, Cargo],
    currency: str,
    first: int,
) -> Card:
    return Card(
        rank=rank,
        offer=match.offer,
        name=match.offer_name,
        material=match.material.value,
        verdict=verdict_words(
            match.verdict, match.reasons, match.material, match.cautions
        ),
        low_minor=match.cost_low_per_m3_minor,
        high_minor=match.cost_high_per_m3_minor,
        in_doubt=match.in_doubt,
        cost_minor=match.cost_per_m3_minor or 0,
        road_km=match.road_km,
        price=price_words(
            match.price_minor, match.price_per_kg, match.material, currency
        ),
        material_minor=sum(part.material_minor for part in match.recipe),
        haul_minor=sum(part.haul_minor for part in match.recipe),
        parts=_parts(match, materials),
        same_as=first if first != rank else None,
    )


def _parts(match: MatchAnswer, materials: dict[str, Cargo]) -> tuple[Part, ...]:
    total = max(sum(part.moist_kg for part in match.recipe), 1)
    seen: dict[str, int] = {}
    parts, x = [], 0.0
    for part in match.recipe:
        material = materials.get(part.offer, match.material).value
        seen[material] = seen.get(material, 0) + 1
        width = BAR * part.moist_kg / total
        parts.append(
            Part(
                name=part.offer_name,
                material=material,
                fill=_fill(material, seen[material]),
                moist_kg=part.moist_kg,
                loads=part.loads,
                material_minor=part.material_minor,
                haul_minor=part.haul_minor,
                x=round(x, 2),
                width=round(width, 2),
            )
        )
        x += width
    return tuple(parts)


def _fill(material: str, count: int) -> str:
    """Two soils in one bar need two patterns."""
    if material == Cargo.SUBSOIL and count > 1:
        return "url(#hatch)"
    return FILLS[material]


def _refusal(match: MatchAnswer) -> Refusal:
    verdict = verdict_words(match.verdict, match.reasons, match.material)
    why = match.barrier or (match.reasons[0].text if match.reasons else "")
    return Refusal(match.offer_name, match.material.value, verdict, why)
