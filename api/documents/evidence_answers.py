"""What tests of soil, sand and straw are answered with."""

from __future__ import annotations

from datetime import date

from pydantic import BaseModel, Field

from api.documents.evidence import EvidenceDoc
from api.documents.plan_models import RangeAnswer, ReasonAnswer
from matching.domain.sands.limits import Limit, Seen
from matching.domain.soil.nexttests import CheckKind
from matching.domain.soil.staleness import NewTestCode
from matching.domain.soil.texture import Texture
from matching.domain.straws.bales import BaleForm
from matching.domain.verdicts import Standing


class VerdictAnswer(BaseModel):
    """Whether a material makes a wall: reasons decide, cautions do not."""

    standing: Standing
    usable: bool
    reasons: list[ReasonAnswer]
    cautions: list[ReasonAnswer]


class FindingAnswer(BaseModel):
    """What one test says by itself, percent of dry mass; null: it does not speak of it."""

    kind: str
    trust: str = Field(description="its step on the ladder of trust, in words")
    taken_on: date
    place: str
    tester: str
    says: str
    doubt: str = Field(description="how far and why such a test misleads")
    clay_percent: RangeAnswer | None
    silt_percent: RangeAnswer | None
    stones_percent: RangeAnswer | None
    organic_percent: RangeAnswer | None


class ContradictionAnswer(BaseModel):
    """Two tests that cannot both be right."""

    kinds: list[str]
    text: str


class TextureAnswer(BaseModel):
    """A class of the USDA triangle."""

    name: Texture
    words: str


class NextTestAnswer(BaseModel):
    """A test that could change the decision."""

    kind: CheckKind
    how: str
    why: str
    takes: str


class NewTestAnswer(BaseModel):
    """Why a test does not stand, or not in full, for this heap."""

    kind: str | None = Field(description="the test set aside; null for a doubt of age")
    code: NewTestCode
    text: str
    clay_stands: bool


class EstimateSummary(BaseModel):
    """How well a soil is known, in short."""

    tests: int = Field(description="how many tests are on record")
    rung: str = Field(description="best evidence on clay: nothing, map ... wall")
    words: str = Field(description="the same for people")
    jar_decides: bool = Field(description="nothing better than a jar speaks of clay")
    contradictions: int
    clay_percent: RangeAnswer


class EstimateAnswer(EstimateSummary):
    """What is known of a soil, percent of dry mass: clay and silt (USDA) of what passes
    2 mm, stones and organic of the whole; null: nothing speaks of it."""

    silt_percent: RangeAnswer | None
    stones_percent: RangeAnswer | None
    organic_percent: RangeAnswer | None
    findings: list[FindingAnswer]
    quarrels: list[ContradictionAnswer] = Field(
        description="tests that contradict each other, which widens the range"
    )
    textures: list[TextureAnswer] = Field(
        description="the likely class first, then any other that the ranges touch"
    )
    next_tests: list[NextTestAnswer] = Field(description="in order of effort")
    set_aside: list[NewTestAnswer]
    stale: list[NewTestAnswer]
    lines: list[str] = Field(description="all of it as sentences")


class SoilTestAnswer(BaseModel):
    """A soil judged for a mix."""

    estimate: EstimateAnswer
    verdict: VerdictAnswer
    sand_parts: RangeAnswer | None = Field(
        description="parts of sand to one of soil by dry mass; 0: as dug; null: too lean"
        " or too silty alone, it wants a richer soil"
    )


class OfferTestsAnswer(BaseModel):
    """The tests on record for an offer, as they were sent, and what they come to."""

    offer: int
    tests: list[EvidenceDoc]
    estimate: EstimateAnswer


class DepartureAnswer(BaseModel):
    """A sieve on which a sand leaves a limit."""

    size_mm: float
    passing_percent: float
    low_percent: float
    high_percent: float
    by_points: float = Field(
        description="percent points beyond the limit; above 0 too fine there, below too"
        " coarse"
    )


class LimitAnswer(BaseModel):
    """A sand against one published limit."""

    limit: Limit
    title: str
    source: str
    seen: Seen
    inside: bool | None = Field(description="null: sieves are missing to say so")
    departures: list[DepartureAnswer]
    unmeasured_mm: list[float]


class SandFiguresAnswer(BaseModel):
    """What the sieves come to; null: they do not reach that far."""

    fineness_low: float = Field(description="ASTM fineness modulus, at least")
    fineness_high: float = Field(description="at most; equal when all sieves were used")
    d10_mm: float | None
    d30_mm: float | None
    d60_mm: float | None
    uniformity: float | None = Field(description="D60 / D10")
    curvature: float | None = Field(description="D30 squared / (D10 D60)")
    unified: list[str] = Field(description="Unified class names still open")
    loss_percent: float | None = Field(description="lost in sieving, if it was weighed")
    adds_up: bool | None = Field(
        description="the loss is within ASTM C136's 0.3 percent"
    )
    limits: list[LimitAnswer]


class SandTestAnswer(BaseModel):
    """A sand judged for large walls."""

    verdict: VerdictAnswer
    clay_percent: RangeAnswer
    silt_percent: RangeAnswer | None
    figures: SandFiguresAnswer | None = Field(description="null without sieves")


class BaleAnswer(BaseModel):
    """A bale as sold; `form` is the named one, else the published form nearest in size."""

    form: BaleForm
    title: str
    named: bool
    kg: int
    m3: float
    by_hand: bool = Field(description="two people can carry it")
    dry_kg_per_m3: float | None = Field(description="null if moisture is not known")


class AdviceAnswer(BaseModel):
    """A sentence for the person who keeps the bales."""

    code: str
    text: str
    source: str


class KeepingAnswer(BaseModel):
    """Room for a stack of the likely number of bales."""

    bales: int
    volume_m3: float
    footprint_m2: float
    height_m: float
    layers: int
    pallets: int
    tarpaulin_m2: float
    between_stacks_m: float


class StrawTestAnswer(BaseModel):
    """A lot of straw judged, counted and kept."""

    verdict: VerdictAnswer
    compostable: bool = Field(description="surplus may become compost or mulch")
    bale: BaleAnswer
    bales: RangeAnswer | None = Field(description="whole bales; null without a mass")
    keeping: KeepingAnswer | None
    deliver_on: date | None = Field(
        description="the day before it is mixed in; null without that day"
    )
    advice: list[AdviceAnswer]
