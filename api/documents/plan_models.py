"""The form of the plan document and of its parts."""

from __future__ import annotations

from datetime import date, datetime
from typing import Literal

from pydantic import BaseModel, Field

from api.documents.replan_models import ReplanAnswer
from api.documents.truck_checks import TruckCheck
from logistics.domain.planning.result import LineKind, StopKind
from logistics.domain.trucks import Cargo


class RangeAnswer(BaseModel):
    """Low, likely and high."""

    low: float
    likely: float
    high: float


class TakeOffAnswer(BaseModel):
    """What walls swallow; soil and sand are for the reference soil."""

    placed_m3: float
    mineral_dry_kg: RangeAnswer
    soil_moist_kg: RangeAnswer
    soil_bank_m3: RangeAnswer
    soil_loose_m3: RangeAnswer
    sand_moist_kg: RangeAnswer
    sand_loose_m3: RangeAnswer
    straw_kg: RangeAnswer
    water_l: RangeAnswer


class ReasonAnswer(BaseModel):
    """One ground of a verdict."""

    code: str
    found: str
    wanted: str
    text: str


class IngredientAnswer(BaseModel):
    """One part of a recipe."""

    offer: str
    offer_name: str
    moist_kg: int
    loads: int
    material_minor: int
    haul_minor: int


class MatchAnswer(BaseModel):
    """An offer for a need, ranked by the cost of the wall that it leads to."""

    offer: str
    offer_name: str
    material: Cargo
    verdict: str
    reasons: list[ReasonAnswer]
    cautions: list[ReasonAnswer] = Field(
        default=[], description="what does not decide the verdict, but could"
    )
    road_km: float | None
    barrier: str | None
    price_minor: int = Field(description="price per `price_per_kg`")
    price_per_kg: float
    cost_per_m3_minor: int | None = Field(
        description="of finished wall with all that this offer makes one buy;"
        " for typed needs per dry tonne; None if it cannot be used"
    )
    cost_low_per_m3_minor: int | None = Field(
        default=None, description="the same if all ground had its cheaper end of clay"
    )
    cost_high_per_m3_minor: int | None = Field(
        default=None, description="the same if all ground had its dearer end of clay"
    )
    in_doubt: bool = Field(
        default=False,
        description="true if no recipe would do at one end of what is known",
    )
    covers_percent: float = Field(
        description="how much of the need its recipe meets; under 100 the offer is too small"
    )
    recipe: list[IngredientAnswer]


class PlanShareAnswer(BaseModel):
    """An offer's share of a blend's dry mass."""

    offer: str
    offer_name: str
    share_percent: float


class PlanRecipeAnswer(BaseModel):
    """How to mix on site what the plan brings, in words."""

    buckets: str
    shares: list[PlanShareAnswer]
    batch: str | None = Field(description="null where it is to be weighed")
    notes: list[str] = Field(description="what is unsure, and what would tell")


class NeedAnswer(BaseModel):
    """One need and what can serve it."""

    need: str
    materials: list[Cargo]
    for_walls: bool = Field(
        default=True, description="true for needs computed from walls, false if typed"
    )
    dry_kg: float
    not_before: date | None = Field(
        default=None, description="first day on which it is wanted, if it is dated"
    )
    due: date | None = Field(
        default=None, description="last day on which it is wanted, if it is dated"
    )
    short_dry_kg: float
    short_reason: str | None
    help: list[str]
    clay_window_percent: list[float] | None
    blend_clay_percent: RangeAnswer | None
    blend_fines_percent: RangeAnswer | None = None
    blend_in_doubt: bool = False
    recipe: PlanRecipeAnswer | None = Field(
        default=None, description="null where nothing is blended"
    )
    matches: list[MatchAnswer]


class LaterAnswer(BaseModel):
    """What the lifts of a build want after the days of this plan."""

    need: str
    dry_kg: RangeAnswer
    not_before: date
    due: date


class BuildAnswer(BaseModel):
    """A build with its take-off and needs."""

    build: str
    name: str
    place: str
    takeoff: TakeOffAnswer | None
    needs: list[NeedAnswer]
    storage_warning: str | None
    later: list[LaterAnswer] = Field(
        default=[],
        description="wanted after this plan, by calendars that bring by lift",
    )


class DealAnswer(BaseModel):
    """Who supplies whom."""

    offer: str
    offer_name: str
    build: str
    build_name: str
    need: str
    material: Cargo
    moist_kg: int
    left_over_kg: int = Field(
        default=0,
        description="of these, more than the wall takes: lots, whole loads and bales"
        " force it",
    )
    loose_m3: float
    pieces: int | None = Field(description="bales; None for earth and sand")
    loads: int
    road_km: float
    haul_payer: str
    material_minor: int
    haul_minor: int = Field(description="its trips' part of the shifts, by time")


class StopAnswer(BaseModel):
    """A stop of a shift, in local time with its offset."""

    kind: StopKind
    place: str
    place_name: str
    arrive: datetime
    begin: datetime
    end: datetime
    leg_km: float
    leg_minutes: float
    load: str | None = None
    trip: int | None = Field(
        default=None,
        description="which of the shift's `loads` is loaded or tipped here",
    )


class LoadAnswer(BaseModel):
    """What the body carries at once."""

    deal: int
    material: Cargo
    moist_kg: int
    loose_m3: float
    bound: Literal["mass", "volume"] | None = Field(
        description="the limit that stopped the loading; None: not full"
    )
    ticket: str | None = None


class LineAnswer(BaseModel):
    """A cost line, in minor units."""

    kind: LineKind
    subject: str
    amount_minor: int
    formula: str


class ShiftAnswer(BaseModel):
    """One truck's day."""

    truck: str
    truck_name: str
    day: str
    leave: datetime
    back: datetime
    km: float
    empty_km: float
    tonne_km: float
    paid_hours: float
    cost_minor: int
    payload_kg: int | None = Field(
        default=None, description="the most that the truck carries"
    )
    body_m3: float | None = Field(
        default=None, description="what its body holds, loose"
    )
    vehicle: dict[str, float] = Field(
        default_factory=dict,
        description="what is known of the loaded truck on the road: gross_t, axle_t, "
        "height_m, width_m, length_m",
    )
    broke_off: bool = Field(
        default=False, description="true of a shift that ended where its truck stood"
    )
    stops: list[StopAnswer]
    loads: list[LoadAnswer]


class UnplannedAnswer(BaseModel):
    """A haul that no shift carries."""

    deal: int
    moist_kg: int
    code: str
    reasons: list[str]
    remedy: str
    proven: bool
    adds_minor: int | None = Field(
        default=None, description="what the remedy adds to the haulage, if reckoned"
    )


class SavingAnswer(BaseModel):
    """What a deal saves, and the payment that halves the gain."""

    offer: str
    offer_name: str
    avoided_minor: int
    worth_minor: int | None
    payment_minor: int | None = Field(description="from the holder to the builders")
    gain_each_minor: int | None


class PlaceAnswer(BaseModel):
    """A place, for maps."""

    key: str
    name: str
    lat: float
    lon: float
    roles: list[str]


class EndsAnswer(BaseModel):
    """The total if walls and ground turn out at the ends of what is known, as if that had
    been known before ordering; haulage of the difference is estimated."""

    low_minor: int
    likely_minor: int
    high_minor: int
    short_dry_kg: float = Field(
        description="above 0: so much would be missing at the worst end, and high_minor"
        " pays for the rest alone"
    )


class SafetyAnswer(BaseModel):
    """What it costs that the plan holds at the far end of what is known."""

    plain_total_minor: int = Field(description="total of a plan at likely figures")
    price_minor: int | None = Field(
        description="what this plan costs beyond that; null where one of them leaves needs"
        " unmet"
    )
    plain_complete: bool = Field(description="whether that plan met every need")


class CarbonAnswer(BaseModel):
    """Greenhouse gases of the driving, empty kilometres included."""

    kg_co2e: float
    empty_kg_co2e: float = Field(description="of driving empty")
    grams_per_tonne_km: float | None = Field(description="null: nothing is carried")
    kg_co2e_per_wall_m3: float | None = Field(
        description="null where something is not for walls"
    )
    source: str


class PlanAnswer(BaseModel):
    """The whole plan. `lines` add up to `total_minor` exactly."""

    status: Literal["planned", "partly_planned"]
    name: str
    currency: str
    time_zone: str
    distance_basis: str
    total_minor: int
    subtotals_minor: dict[LineKind, int]
    certainty: Literal["likely", "safe"] = "likely"
    ends: EndsAnswer | None = None
    safety: SafetyAnswer | None = None
    lower_bound_minor: int
    bound_method: str
    gap_percent: float
    proven_optimal: bool
    haul_cost_minor: int
    haul_bound_minor: int
    haul_bound_method: str
    haul_gap_percent: float
    allocation_gap_percent: float
    km: float
    empty_km: float
    tonne_km: float
    carbon: CarbonAnswer | None = None
    tipping_avoided_minor: int = Field(
        default=0, description="what holders do not pay; a gain in the total"
    )
    lines: list[LineAnswer]
    builds: list[BuildAnswer]
    deals: list[DealAnswer]
    shifts: list[ShiftAnswer]
    unplanned: list[UnplannedAnswer]
    savings: list[SavingAnswer]
    places: list[PlaceAnswer]
    truck_checks: list[TruckCheck] = Field(
        default=[], description="what was compared of the trucks that drive"
    )
    cautions: list[str]
    replan: ReplanAnswer | None = Field(
        default=None, description="null of a plan that replaces no other"
    )
