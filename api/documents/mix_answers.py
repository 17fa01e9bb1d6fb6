"""The form of the answer what to order and how to mix it."""

from __future__ import annotations

from pydantic import BaseModel, Field

from api.documents.plan_models import RangeAnswer, ReasonAnswer

KEY = "place of the material in the question, from 0, or key of the offer"


class MixVerdictAnswer(BaseModel):
    """A material with its verdict; what is not allowed was left out of every recipe."""

    key: str = Field(description=KEY)
    name: str
    verdict: str
    allowed: bool
    reasons: list[ReasonAnswer]
    cautions: list[ReasonAnswer]


class DoseAnswer(BaseModel):
    """A part of a recipe. Moist masses and loose volumes are as loaded, stones included."""

    key: str = Field(description=KEY)
    name: str
    share_percent: float = Field(description="percent of the dry mass of soil and sand")
    moist_kg: RangeAnswer
    loose_m3: RangeAnswer
    weigh_kg: float = Field(
        description="moist kg to weigh out, stones screened out, for 100 kg of dry mix"
    )


class RecipeAnswer(BaseModel):
    """A recipe: shares, what the mix then holds, and its delivered cost of soil and sand
    (null where a price is unknown)."""

    doses: list[DoseAnswer]
    clay_percent: RangeAnswer
    silt_percent: RangeAnswer
    sand_and_gravel_percent: RangeAnswer
    cost_per_m3_minor: RangeAnswer | None
    cost_minor: RangeAnswer | None
    notes: list[str] = Field(description="what is unsure, and what would tell")


class MixOutcomeAnswer(BaseModel):
    """A recipe, or the reason why there is none."""

    recipe: RecipeAnswer | None
    reason: ReasonAnswer | None
    short_dry_kg: float | None = Field(
        default=None, description="what is missing where supply is the reason"
    )


class CountAnswer(BaseModel):
    """Buckets of one part."""

    key: str = Field(description=KEY)
    name: str
    buckets: float = Field(description="whole numbers or halves")


class BucketsAnswer(BaseModel):
    """Level buckets of each part, as loose as delivered, stones screened out."""

    text: str
    buckets: list[CountAnswer] = Field(
        description="empty where no small ratio stays inside the window: weigh"
    )
    clay_percent: RangeAnswer | None = Field(
        description="clay that the rounded ratio really gives"
    )


class LoadOfBatchAnswer(BaseModel):
    """One part of a batch."""

    key: str = Field(description=KEY)
    name: str
    buckets: float
    moist_kg: float


class MixBatchAnswer(BaseModel):
    """What is mixed at once: `water_l` is what to add to what the parts bring along,
    `wall_m3` is wall in place, waste taken off."""

    text: str
    loads: list[LoadOfBatchAnswer]
    loose_l: float
    dry_kg: float
    straw_kg: RangeAnswer
    straw_handfuls: RangeAnswer
    water_l: RangeAnswer
    wall_m3: RangeAnswer


class SwallowedAnswer(BaseModel):
    """What a day takes of one part, as loaded."""

    key: str = Field(description=KEY)
    name: str
    moist_kg: RangeAnswer
    loose_m3: RangeAnswer


class MixDayAnswer(BaseModel):
    """A dry work day if it goes badly, as likely, and well."""

    wall_m3: RangeAnswer
    batches: RangeAnswer
    swallowed: list[SwallowedAnswer]
    straw_kg: RangeAnswer
    bales: RangeAnswer
    water_l: RangeAnswer


class MixOrderAnswer(BaseModel):
    """What to have brought of a part, as loaded. The ends count how much the walls swallow,
    how wet the heap is, and what recipe its clay may ask for."""

    key: str = Field(description=KEY)
    name: str
    text: str
    moist_kg: RangeAnswer
    loose_m3: RangeAnswer


class MixStrawAnswer(BaseModel):
    """Straw as weighed, and whole bales of the size given."""

    text: str
    straw_kg: RangeAnswer
    bales: RangeAnswer


class SafeAnswer(MixOutcomeAnswer):
    """A recipe that stays inside the window at both ends of what is known, beside the
    likely one; what it costs more, in minor units."""

    buckets: BucketsAnswer | None
    extra_per_m3_minor: int | None
    extra_minor: int | None


class SettlingAnswer(BaseModel):
    """A test that would settle the doubt."""

    kind: str
    how: str
    why: str
    takes: str
    error_percent: float | None = Field(
        description="standard deviation of the clay that it reads, in points of percent"
    )
    worth_minor: int | None = Field(
        description="what it saves on average, before its own cost; null: not known"
    )


class DoubtAnswer(BaseModel):
    """The part that makes most of the doubt, the edges that the mix may cross, and what
    knowing its clay before ordering saves, in minor units."""

    key: str = Field(description=KEY)
    name: str
    clay_percent: RangeAnswer
    crossed: list[str]
    open_question: str | None
    worth_minor: int | None = Field(
        description="what knowing saves on average in purchase and haulage; a wall that"
        " cracks is not in it, so that it is no limit to what a test may cost"
    )
    worth_unknown: ReasonAnswer | None
    cost_now_minor: int | None = Field(
        description="expected cost of the orders above, put right later"
    )
    cost_known_minor: int | None = Field(
        description="expected cost of ordering once the clay is known"
    )
    edges: list[str] = Field(
        description="edges of the window inside the heap's own range, with the orders once it"
        " is known to lie on either side"
    )
    tests: list[SettlingAnswer]


class MixAnswer(BaseModel):
    """What to order and how to mix it. `basis` says what masses and volumes are for."""

    basis: str
    orders: list[MixOrderAnswer]
    orders_note: list[str] = Field(
        description="ends of the ground at which no mix is possible, and what would help:"
        " the ends of the orders reach only as far as one is"
    )
    straw: MixStrawAnswer
    water_l: RangeAnswer | None
    mineral_dry_kg: RangeAnswer
    materials: list[MixVerdictAnswer]
    left_out: list[str] = Field(description="what must not go into the mix, and why")
    outcome: MixOutcomeAnswer
    buckets: BucketsAnswer | None
    batch: MixBatchAnswer | None
    day: MixDayAnswer | None
    lean_end: MixOutcomeAnswer = Field(
        description="the recipe if all clay turned out at the low end of its range"
    )
    rich_end: MixOutcomeAnswer = Field(
        description="the recipe if all clay turned out at the high end of its range"
    )
    safe: SafeAnswer
    doubt: DoubtAnswer | None
    cautions: list[str]
