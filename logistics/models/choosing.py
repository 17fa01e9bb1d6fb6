"""Choices and conditions that several tables share."""

from __future__ import annotations

from django.db.models import Q

from logistics.domain.places import Firmness
from logistics.domain.planning.result import LineKind, StopKind
from logistics.domain.trucks import BodyKind, Cargo


def choices(
    kinds: type[BodyKind | Cargo | Firmness | LineKind | StopKind],
) -> list[tuple[str, str]]:
    """Values and labels of an enumeration of the domain."""
    return [(kind.value, kind.value.replace("_", " ")) for kind in kinds]


def none_or_positive(*fields: str) -> Q:
    """Each of the fields is unknown or above 0."""
    condition = Q()
    for field in fields:
        condition &= Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gt": 0})
    return condition
