"""Quantities as people write them: an amount, a unit, and the state or basis."""

from __future__ import annotations

from typing import Annotated, Literal, Self
from unicodedata import category

import pint
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from logistics.domain.materials import Bulk, other_basis
from logistics.domain.quantities import MassBasis, VolumeState

_registry: pint.UnitRegistry[float] = pint.UnitRegistry()

VolumeUnit = Literal["m3", "yd3", "ft3", "l"]
MassUnit = Literal["kg", "t", "lb", "short_ton", "long_ton"]
_PINT = {
    "m3": "meter**3",
    "yd3": "yard**3",
    "ft3": "foot**3",
    "l": "liter",
    "kg": "kilogram",
    "t": "metric_ton",
    "lb": "pound",
    "short_ton": "short_ton",
    "long_ton": "long_ton",
}


class Document(BaseModel):
    """Base of all documents: no unknown fields, no infinities, no silent conversion."""

    model_config = ConfigDict(
        extra="forbid",
        allow_inf_nan=False,
        strict=True,
        frozen=True,
        str_strip_whitespace=True,
    )


# Controls, line separators, and marks that turn the writing direction: a name with these
# reads differently from what it says.
_HIDDEN = {"Cc", "Zl", "Zp"}
_TURNING = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _plain(text: str) -> str:
    if any(category(char) in _HIDDEN or char in _TURNING for char in text):
        raise PydanticCustomError(
            "control_character",
            "a name or key must not hold control characters",
            {"remedy": "Use printable characters on one line."},
        )
    return text


Key = Annotated[
    str,
    Field(
        min_length=1,
        max_length=60,
        pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]*$",
        description="letters, digits, dot, dash and underscore; other parts refer to it",
    ),
]
Name = Annotated[
    str,
    Field(min_length=1, max_length=120, description="what people call it, one line"),
    AfterValidator(_plain),
]
Line = Annotated[str, Field(max_length=120), AfterValidator(_plain)]


def in_si(amount: float, unit: str) -> float:
    """An amount in m3 or kg, by the unit's own definition (pint)."""
    quantity = _registry.Quantity(amount, _PINT[unit])
    return float(quantity.to_base_units().magnitude)


class Quantity(Document):
    """An amount of earth, sand or straw. A volume needs its state, a mass its basis."""

    amount: float = Field(gt=0, le=1e7, description="how many of the unit; above 0")
    unit: Literal[VolumeUnit, MassUnit, "bale"] = Field(
        description="m3, yd3, ft3, l (volumes); kg, t (1000 kg), lb, short_ton (2000 lb),"
        " long_ton (2240 lb) (masses); bale (straw only)"
    )
    state: VolumeState | None = Field(
        default=None,
        strict=False,
        description="of a volume: bank (still in the ground), loose (heap, truck) or placed"
        " (in the wall); the same earth fills 1 m3 bank or about 1.25 m3 loose",
    )
    basis: MassBasis | None = Field(
        default=None,
        strict=False,
        description="of a mass: moist (as dug or delivered) or dry",
    )

    @model_validator(mode="after")
    def _state_or_basis(self) -> Self:
        volume = self.unit in {"m3", "yd3", "ft3", "l"}
        if volume and self.state is None:
            raise PydanticCustomError(
                "volume_without_state",
                "a volume without its state cannot be used",
                {
                    "field": "state",
                    "given": "none",
                    "remedy": 'Add "state": "bank", "loose" or "placed".',
                },
            )
        if not volume and self.unit != "bale" and self.basis is None:
            raise PydanticCustomError(
                "mass_without_basis",
                "a mass without its basis cannot be used",
                {
                    "field": "basis",
                    "given": "none",
                    "remedy": 'Add "basis": "moist" or "dry".',
                },
            )
        if (not volume and self.state) or (
            (volume or self.unit == "bale") and self.basis
        ):
            raise PydanticCustomError(
                "state_and_basis",
                "volumes have a state, masses a basis, bales neither",
                {"remedy": "Remove the one that does not belong to the unit."},
            )
        if self.unit == "bale" and self.amount != int(self.amount):
            raise PydanticCustomError(
                "part_of_a_bale",
                "bales are not cut",
                {
                    "field": "amount",
                    "given": f"{self.amount:g}",
                    "remedy": "Give a whole number of bales.",
                },
            )
        return self

    def moist_kg(self, bulk: Bulk, moisture: float) -> float:
        """Mass as loaded of earth or sand. Raises Refused for a placed volume."""
        if self.state is not None:
            return bulk.moist_kg(in_si(self.amount, self.unit), self.state)
        basis = self.basis or MassBasis.MOIST
        return other_basis(
            in_si(self.amount, self.unit),
            given=basis,
            wanted=MassBasis.MOIST,
            moisture=moisture,
        )
