"""The stored form of values that have no table of their own: plain JSON, read back exactly.

Only what this module wrote may be read by it: input from people is checked elsewhere.
"""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from logistics.domain.calendar import WeeklyHours
from logistics.domain.fleet import Chassis
from logistics.domain.trucks import DeliveryTariff

Stored = dict[str, Any]
StoredHours = list[list[list[str]]]

_CHASSIS = TypeAdapter(Chassis)
_DELIVERY = TypeAdapter(DeliveryTariff)


def dump_chassis(chassis: Chassis) -> Stored:
    """What a payload is found from."""
    stored: Stored = _CHASSIS.dump_python(chassis, mode="json")
    return stored


def load_chassis(stored: Stored) -> Chassis:
    """What a payload is found from."""
    return _CHASSIS.validate_python(stored)


def dump_delivery(tariff: DeliveryTariff | None) -> Stored | None:
    """A supplier's tariff, if there is one."""
    if tariff is None:
        return None
    stored: Stored = _DELIVERY.dump_python(tariff, mode="json")
    return stored


def load_delivery(stored: Stored | None) -> DeliveryTariff | None:
    """A supplier's tariff, if there is one."""
    return None if stored is None else _DELIVERY.validate_python(stored)


def dump_hours(hours: WeeklyHours) -> StoredHours:
    """Spans for each weekday, Monday first: [[["07:00", "17:00"]], ...]."""
    return [
        [[f"{span.opens:%H:%M}", f"{span.closes:%H:%M}"] for span in day]
        for day in hours.days
    ]
