"""Offers of subsoil, sand and straw."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from logistics.domain.trucks import Cargo
from matching.domain.materials import HaulPayer


class Offer(models.Model):
    """A holder's material at a place. Masses are whole kg, moist as loaded.

    `reserved_kg` is what is promised already, and never more than `quantity_kg`.
    `material` is its stored form (see `matching.domain.stored`); `loader_hours` are a list
    of spans for each weekday, as the hours of a place.
    """

    name = models.CharField(max_length=120)
    place = models.ForeignKey(
        "logistics.Place", on_delete=models.PROTECT, related_name="offers"
    )
    kind = models.CharField(
        max_length=16, choices=[(own.value, own.value) for own in Cargo]
    )
    material = models.JSONField()
    quantity_kg = models.BigIntegerField()
    reserved_kg = models.BigIntegerField(default=0)
    price_minor = models.BigIntegerField()
    price_per_kg = models.FloatField()
    available_from = models.DateField(null=True)
    available_until = models.DateField(null=True)
    min_lot_kg = models.BigIntegerField(default=0)
    whole_loads = models.BooleanField(default=False)
    haul_payer = models.CharField(
        max_length=8, choices=[(own.value, own.value) for own in HaulPayer]
    )
    tipping_per_t = models.BigIntegerField(default=0)
    haulage_per_t = models.BigIntegerField(default=0)
    load_s = models.BigIntegerField()
    loading_fee = models.BigIntegerField(default=0)
    part_charge = models.BigIntegerField(default=0)
    part_below_kg = models.BigIntegerField(default=0)
    loader_hours = models.JSONField(null=True)
    created_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(name="offer_by_kind", fields=["kind", "id"])]
        constraints = [
            models.CheckConstraint(
                name="offer_reserved_within_quantity",
                condition=Q(quantity_kg__gt=0, reserved_kg__gte=0)
                & Q(reserved_kg__lte=F("quantity_kg")),
            ),
            models.CheckConstraint(
                name="offer_window_in_order",
                condition=Q(available_from__isnull=True)
                | Q(available_until__isnull=True)
                | Q(available_until__gte=F("available_from")),
            ),
            models.CheckConstraint(
                name="offer_lot_within_quantity",
                condition=Q(min_lot_kg__gte=0, min_lot_kg__lte=F("quantity_kg")),
            ),
            models.CheckConstraint(
                name="offer_terms_not_negative",
                condition=Q(
                    price_per_kg__gt=0,
                    tipping_per_t__gte=0,
                    haulage_per_t__gte=0,
                    load_s__gte=0,
                    loading_fee__gte=0,
                    part_charge__gte=0,
                    part_below_kg__gte=0,
                ),
            ),
            models.CheckConstraint(
                name="offer_known_kind", condition=Q(kind__in=list(Cargo))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (offer {self.pk})"
