"""Places and trucks."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from logistics.domain.places import Firmness
from logistics.domain.trucks import REST_RULES, BodyKind
from logistics.models.choosing import choices, none_or_positive


class Place(models.Model):
    """Somewhere a truck starts, loads or tips. `hours` are a list of spans for each
    weekday, Monday first: [[["07:00", "17:00"]], ...]."""

    name = models.CharField(max_length=120)
    lat = models.FloatField()
    lon = models.FloatField()
    h3_cell = models.CharField(max_length=15, db_index=True)
    max_gross_kg = models.BigIntegerField(null=True)
    max_height_m = models.FloatField(null=True)
    max_width_m = models.FloatField(null=True)
    max_length_m = models.FloatField(null=True)
    max_axle_kg = models.BigIntegerField(null=True)
    turning_m = models.FloatField(null=True)
    slope_percent = models.FloatField(null=True)
    firmness = models.CharField(
        max_length=16, blank=True, default="", choices=choices(Firmness)
    )
    wires = models.BooleanField(null=True)
    clear_height_m = models.FloatField(null=True)
    at_once = models.PositiveIntegerField(null=True)
    loads_a_day = models.PositiveIntegerField(null=True)
    tip_lat = models.FloatField(null=True)
    tip_lon = models.FloatField(null=True)
    hours = models.JSONField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="place_on_earth",
                condition=Q(lat__gte=-90, lat__lte=90, lon__gte=-180, lon__lte=180),
            ),
            models.CheckConstraint(
                name="place_limits_positive",
                condition=none_or_positive(
                    "max_gross_kg", "max_height_m", "max_width_m", "max_length_m"
                ),
            ),
            models.CheckConstraint(
                name="place_card_positive",
                condition=none_or_positive(
                    "max_axle_kg",
                    "turning_m",
                    "clear_height_m",
                    "at_once",
                    "loads_a_day",
                ),
            ),
            models.CheckConstraint(
                name="place_slope_not_negative",
                condition=Q(slope_percent__isnull=True) | Q(slope_percent__gte=0),
            ),
            models.CheckConstraint(
                name="place_known_firmness",
                condition=Q(firmness__in=["", *Firmness]),
            ),
            models.CheckConstraint(
                name="place_tip_on_earth",
                condition=Q(tip_lat__isnull=True, tip_lon__isnull=True)
                # A check that comes to NULL passes: half a position must not.
                | Q(
                    tip_lat__isnull=False,
                    tip_lon__isnull=False,
                    tip_lat__gte=-90,
                    tip_lat__lte=90,
                    tip_lon__gte=-180,
                    tip_lon__lte=180,
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (place {self.pk})"


class Truck(models.Model):
    """A truck with its rates and its working day, which is local wall-clock time.

    `payload_kg` is what its `chassis` leaves it to load; that, and the `delivery` tariff,
    are in their stored form (see `logistics.domain.stored`). `only_from` are ids of places.
    """

    name = models.CharField(max_length=120)
    body = models.CharField(max_length=16, choices=choices(BodyKind))
    base = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    payload_kg = models.BigIntegerField()
    body_m3 = models.FloatField()
    tare_kg = models.BigIntegerField(null=True)
    height_m = models.FloatField(null=True)
    width_m = models.FloatField(null=True)
    length_m = models.FloatField(null=True)
    call_out = models.BigIntegerField()
    per_hour = models.BigIntegerField()
    per_km = models.BigIntegerField()
    opens = models.TimeField()
    closes = models.TimeField()
    max_shift_s = models.BigIntegerField()
    heaped_m3 = models.FloatField(null=True)
    turning_m = models.FloatField(null=True)
    tip_height_m = models.FloatField(null=True)
    chassis = models.JSONField(null=True)
    per_load = models.BigIntegerField(default=0)
    per_tonne = models.BigIntegerField(default=0)
    minimum_hire_s = models.BigIntegerField(default=0)
    overtime_after_s = models.BigIntegerField(null=True)
    overtime_per_hour = models.BigIntegerField(default=0)
    delivery = models.JSONField(null=True)
    rest_rule = models.CharField(max_length=40, blank=True, default="")
    cleaning_s = models.BigIntegerField(default=0)
    only_from = models.JSONField(null=True)
    overnight = models.ForeignKey(
        Place, on_delete=models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="truck_sizes_positive",
                condition=Q(payload_kg__gt=0, body_m3__gt=0, max_shift_s__gt=0)
                & none_or_positive("tare_kg", "height_m", "width_m", "length_m"),
            ),
            models.CheckConstraint(
                name="truck_more_sizes_positive",
                condition=none_or_positive("heaped_m3", "turning_m", "tip_height_m"),
            ),
            models.CheckConstraint(
                name="truck_terms_not_negative",
                condition=Q(
                    per_load__gte=0,
                    per_tonne__gte=0,
                    minimum_hire_s__gte=0,
                    overtime_per_hour__gte=0,
                    cleaning_s__gte=0,
                )
                & (Q(overtime_after_s__isnull=True) | Q(overtime_after_s__gte=0)),
            ),
            models.CheckConstraint(
                name="truck_known_rest_rule",
                condition=Q(rest_rule__in=["", *REST_RULES]),
            ),
            models.CheckConstraint(
                name="truck_rates_not_negative",
                condition=Q(call_out__gte=0, per_hour__gte=0, per_km__gte=0),
            ),
            models.CheckConstraint(
                name="truck_closes_after_it_opens", condition=Q(closes__gt=F("opens"))
            ),
            models.CheckConstraint(
                name="truck_known_body", condition=Q(body__in=list(BodyKind))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (truck {self.pk})"
