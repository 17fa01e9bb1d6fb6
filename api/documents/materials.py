"""Subsoil, sand and straw with what is known of them, as documents."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from api.documents.evidence import WITHOUT_CLAY, EvidenceDoc
from api.documents.parts import Day, Percent, Range
from api.documents.quantity import Document, Line
from api.documents.samples import DepthM
from api.documents.sieves import Curve, RetainedDoc
from logistics.domain.materials import Earth
from matching.domain.grounds import Known
from matching.domain.materials import History
from matching.domain.sands.records import Called, Shape
from matching.domain.straws.bales import BaleForm
from matching.domain.straws.records import Herbicide, Plant, Smell, Storage
from matching.domain.tested import MOST_TESTS


def _within_all(clay: Range | None, silt: Range | None) -> None:
    """Clay and silt are shares of one whole. Raises for a likely sum above it."""
    if clay and silt and clay.likely + silt.likely > 100:
        raise PydanticCustomError(
            "clay_and_silt_beyond_all",
            "clay and silt together are more than the whole",
            {
                "field": "silt_percent",
                "given": f"{clay.likely:g} % clay and {silt.likely:g} % silt",
                "remedy": "Give shares of the dry mass that add up to at most 100.",
            },
        )


class SubsoilFacts(Document):
    """What is known of excavated earth: tests, or a declaration, and the ground itself."""

    clay_percent: Range | None = Field(
        default=None,
        description="clay that the holder declares, percent of the dry mass below 2 mm;"
        " left out: the tests decide, and without any nothing is known (0 to 100)",
    )
    silt_percent: Range | None = Field(
        default=None,
        description="silt (0.002 to 0.05 mm) that the holder declares, percent of the dry"
        " mass below 2 mm; left out: the tests decide, without any a guess with its range",
    )
    tests: list[EvidenceDoc] = Field(
        default=[],
        max_length=MOST_TESTS,
        description="what was tried with it, by `kind`: jar, ribbon, laboratory and others",
    )
    depth_from_m: DepthM | None = Field(
        default=None, description="upper depth that is dug, metres below the surface"
    )
    depth_to_m: DepthM | None = Field(
        default=None, description="lower depth that is dug, metres below the surface"
    )
    earth: Earth = Field(
        default=Earth.COMMON_EARTH,
        strict=False,
        description="how it swells and weighs: common_earth or clay",
    )
    stones_percent: Percent = Field(
        default=0,
        description="stones, percent of the dry mass; a screened bucket overrules it",
    )
    organic_percent: Percent = Field(
        default=0, description="organic matter, percent; tests of it overrule it"
    )
    topsoil: bool = Field(default=False, description="true if topsoil is in the heap")
    history: History = Field(
        default=History.UNKNOWN,
        strict=False,
        description="the ground's past: clear, unknown or suspect; only clear ground is used",
    )
    salty: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="salt in the ground (coast, road salt, white bloom): yes, no or unknown",
    )
    frozen: bool = Field(default=False, description="true while it is frozen")
    rained_since: bool = Field(
        default=False, description="true if rain fell on it since the last test"
    )
    moisture_percent: Percent | None = Field(
        default=None, description="water over dry mass, percent; 18 by default"
    )

    @model_validator(mode="after")
    def _one_whole(self) -> Self:
        _within_all(self.clay_percent, self.silt_percent)
        return self

    @model_validator(mode="after")
    def _said_once(self) -> Self:
        on_clay = [own.kind for own in self.tests if not isinstance(own, WITHOUT_CLAY)]
        for name in ("clay_percent", "silt_percent"):
            if on_clay and getattr(self, name) is not None:
                raise PydanticCustomError(
                    "clay_said_twice",
                    "clay and silt are declared, and tests speak of them too",
                    {
                        "field": name,
                        "given": f"a declaration and {', '.join(on_clay[:4])}",
                        "remedy": "Leave the declaration out: the tests decide. What the"
                        ' holder believes is a test of kind "ticked".',
                    },
                )
        return self

    @model_validator(mode="after")
    def _downwards(self) -> Self:
        top, bottom = self.depth_from_m, self.depth_to_m
        if top is not None and bottom is not None and bottom < top:
            raise PydanticCustomError(
                "depths_upside_down",
                "the lower depth must not be above the upper",
                {
                    "field": "depth_to_m",
                    "given": f"{top:g} to {bottom:g} m",
                    "remedy": "Give metres below the surface, the shallower first.",
                },
            )
        return self


class SubsoilDoc(SubsoilFacts):
    """Excavated earth from below the topsoil."""

    kind: Literal["subsoil"] = Field(description="subsoil")


class SandFacts(Document):
    """What is known of a sand: its name, its grains, its sieves and what it carries."""

    sand: Called = Field(
        strict=False,
        description="what the holder calls it: concrete (sharp), masonry, play, beach, dune or unknown",
    )
    shape: Shape = Field(
        default=Shape.UNKNOWN,
        strict=False,
        description="grains through a lens or between the fingers: sharp, rounded, unknown",
    )
    sieves: Curve | None = Field(
        default=None,
        description="sieve analysis as shares passing, best from 0.075 to 9.5 mm",
    )
    retained: RetainedDoc | None = Field(
        default=None, description="or as grams kept on each sieve and in the pan"
    )
    fines_percent: Percent | None = Field(
        default=None,
        description="finer than 0.075 mm by a jar or laboratory, percent of dry mass",
    )
    clayey: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="the fines are clay (they smear) rather than silt: yes, no or unknown",
    )
    salt: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="salt: yes, no or unknown",
    )
    chloride_percent: Percent | None = Field(
        default=None, description="chloride by a laboratory, percent of dry mass"
    )
    shells: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="bits of shell in it: yes, no or unknown",
    )
    sold_by_volume: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="sold by volume rather than by mass: yes, no or unknown",
    )
    clay_percent: Range | None = Field(
        default=None,
        description="clay in the sand, percent of the dry mass; left out: from the sieves"
        " or the fines, and without them 0 to 2",
    )
    silt_percent: Range | None = Field(
        default=None,
        description="silt in the sand, percent of the dry mass; left out: from the sieves"
        " or the fines, and without them 0 to 5",
    )
    moisture_percent: Percent | None = Field(
        default=None, description="water over dry mass, percent; 5 by default"
    )
    place: Line = Field(default="", description="where in the heap it was taken")
    taken_on: Day | None = Field(
        default=None, description="day on which it was looked at, ISO date"
    )
    tester: Line = Field(default="", description="who looked at it or sieved it")

    @model_validator(mode="after")
    def _one_whole(self) -> Self:
        _within_all(self.clay_percent, self.silt_percent)
        return self

    @model_validator(mode="after")
    def _sieved_once(self) -> Self:
        if self.sieves is not None and self.retained is not None:
            raise PydanticCustomError(
                "sieved_twice",
                "shares passing and grams kept are two accounts of one sand",
                {"field": "retained", "remedy": "Give one of them."},
            )
        return self


class SandDoc(SandFacts):
    """Sand from a yard or quarry."""

    kind: Literal["sand"] = Field(description="sand")


class StrawFacts(Document):
    """What is known of a lot of straw."""

    fibre: Plant = Field(
        strict=False,
        description="wheat, rye, barley, oat, rice or other; hay is refused",
    )
    moisture_percent: Percent | None = Field(
        default=None,
        lt=100,
        description="water over total mass (wet basis), percent, of the wettest bale looked"
        " into; at most 20 is fit; left out: not measured",
    )
    strand_mm: float | None = Field(
        default=None, gt=0, le=2000, description="usual length of the strands, mm"
    )
    storage: Storage = Field(
        default=Storage.UNKNOWN,
        strict=False,
        description="where it has lain: barn, covered, outdoors or unknown",
    )
    mould: Known = Field(
        default=Known.UNKNOWN,
        strict=False,
        description="grey or black mould in an opened bale: yes, no or unknown",
    )
    smell: Smell = Field(
        default=Smell.UNKNOWN,
        strict=False,
        description="of an opened bale: clean, musty or unknown",
    )
    herbicide: Herbicide = Field(
        default=Herbicide.UNKNOWN,
        strict=False,
        description="what the farmer states of persistent herbicides: free, treated,"
        " unknown; surplus of other than free straw must not become compost",
    )
    harvested_year: int | None = Field(
        default=None, ge=1990, le=2200, description="year of harvest (a factor of age)"
    )
    bale: BaleForm | None = Field(
        default=None,
        strict=False,
        description="form of the bales by name; sets mass and volume from a published table",
    )
    bale_kg: int | None = Field(
        default=None,
        gt=0,
        le=1000,
        description="mass of one bale, kg; of the form by default, 16 without one",
    )
    bale_m3: float | None = Field(
        default=None,
        gt=0,
        le=10,
        description="volume of one bale, m3, where no form is named; 0.149 by default",
    )
    place: Line = Field(default="", description="which stack or part of the lot")
    taken_on: Day | None = Field(
        default=None, description="day on which it was looked at, ISO date"
    )
    tester: Line = Field(default="", description="who looked at it")

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.bale is not None and self.bale_m3 is not None:
            raise PydanticCustomError(
                "bale_size_twice",
                "the form of a bale has its size already",
                {"field": "bale_m3", "remedy": "Leave bale_m3 out, or bale."},
            )
        return self


class StrawDoc(StrawFacts):
    """Straw in bales."""

    kind: Literal["straw"] = Field(description="straw")
