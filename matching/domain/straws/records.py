"""What is known of a lot of straw: plant, strands, water, storage, sprays."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from logistics.domain.errors import refuse
from matching.domain.grounds import Known
from matching.domain.straws.bales import BaleForm


class Plant(StrEnum):
    """What was baled. OTHER is the straw of another grain or a like fibre."""

    WHEAT = "wheat"
    RYE = "rye"
    BARLEY = "barley"
    OAT = "oat"
    RICE = "rice"
    OTHER = "other"
    HAY = "hay"
    UNKNOWN = "unknown"


class Storage(StrEnum):
    """Where the bales have lain until now."""

    BARN = "barn"
    COVERED = "covered"
    OUTDOORS = "outdoors"
    UNKNOWN = "unknown"


class Smell(StrEnum):
    """What an opened bale smells of."""

    CLEAN = "clean"
    MUSTY = "musty"
    UNKNOWN = "unknown"


class Herbicide(StrEnum):
    """What the farmer states of persistent herbicides on the crop."""

    FREE = "free"
    TREATED = "treated"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class StrawRecord:
    """One look at one lot. `moisture` is water over total mass, as meters show it, the
    wettest of the bales looked into; `strand_mm` what most stalks measure. Raises Refused
    for a moisture outside 0..1, a strand that is not positive or an impossible year."""

    plant: Plant = Plant.UNKNOWN
    strand_mm: float | None = None
    moisture: float | None = None
    storage: Storage = Storage.UNKNOWN
    mould: Known = Known.UNKNOWN
    smell: Smell = Smell.UNKNOWN
    form: BaleForm | None = None
    bale_kg: float | None = None
    herbicide: Herbicide = Herbicide.UNKNOWN
    harvested_year: int | None = None
    place: str = ""
    taken_on: date | None = None
    tester: str = ""

    def __post_init__(self) -> None:
        if self.moisture is not None and not 0 <= self.moisture < 1:
            raise refuse(
                "moisture_outside_0_1",
                field="straw.moisture",
                given=self.moisture,
                message="water over total mass lies between 0 and 1",
                remedy="Give 0.15 for a meter that shows 15 %.",
            )
        if self.strand_mm is not None and not 0 < self.strand_mm <= 3000:
            raise refuse(
                "strand_length",
                field="straw.strand_mm",
                given=self.strand_mm,
                message="a stalk is between 0 and 3000 mm long",
                remedy="Measure a handful of stalks, in millimetres.",
            )
        if self.harvested_year is not None and not 1900 <= self.harvested_year <= 2200:
            raise refuse(
                "harvest_year",
                field="straw.harvested_year",
                given=self.harvested_year,
                message="the year of harvest has four digits",
                remedy="Give a year such as 2024, or leave it out.",
            )
