"""Tables of the haul engine. Masses are whole kg, money whole minor currency units.

The constraints say what no row may ever claim, whoever wrote it; services say it first,
with words a person can act on.
"""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from logistics.domain.places import Firmness
from logistics.domain.planning.result import LineKind, StopKind
from logistics.domain.trucks import REST_RULES, BodyKind, Cargo


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


class Haul(models.Model):
    """A quantity to move from one place to another; masses are moist, as loaded."""

    name = models.CharField(max_length=250)
    origin = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    destination = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    cargo = models.CharField(max_length=16, choices=choices(Cargo))
    mass_kg = models.BigIntegerField()
    loose_kg_per_m3 = models.FloatField()
    unit_kg = models.BigIntegerField(default=1)
    load_s = models.BigIntegerField()
    unload_s = models.BigIntegerField()
    loading_fee = models.BigIntegerField(default=0)
    part_charge = models.BigIntegerField(default=0)
    part_below_kg = models.BigIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="haul_masses_positive",
                condition=Q(mass_kg__gt=0, loose_kg_per_m3__gt=0, unit_kg__gt=0),
            ),
            models.CheckConstraint(
                name="haul_goes_somewhere", condition=~Q(origin=F("destination"))
            ),
            models.CheckConstraint(
                name="haul_terms_not_negative",
                condition=Q(
                    load_s__gte=0,
                    unload_s__gte=0,
                    loading_fee__gte=0,
                    part_charge__gte=0,
                    part_below_kg__gte=0,
                ),
            ),
            models.CheckConstraint(
                name="haul_known_cargo", condition=Q(cargo__in=list(Cargo))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (haul {self.pk})"


class Plan(models.Model):
    """The shifts for a set of hauls. `basis` says where the distances come from."""

    haul_cost = models.BigIntegerField()
    bound_amount = models.BigIntegerField()
    bound_method = models.CharField(max_length=200)
    proven_optimal = models.BooleanField()
    basis = models.TextField()
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="plan_bound_at_most_its_cost",
                condition=Q(haul_cost__gte=0, bound_amount__lte=F("haul_cost")),
            ),
        ]

    def __str__(self) -> str:
        return f"plan {self.pk}"


class Shift(models.Model):
    """One truck's working day within a plan."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="shifts")
    truck = models.ForeignKey(Truck, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    leave_at = models.DateTimeField()
    return_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="one_shift_per_truck_and_day", fields=["plan", "truck", "day"]
            ),
            models.CheckConstraint(
                name="shift_returns_after_it_leaves",
                condition=Q(return_at__gte=F("leave_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"shift {self.pk} on {self.day}"


class Trip(models.Model):
    """One load from where it is loaded to where it is tipped, in the shift's order."""

    shift = models.ForeignKey(Shift, on_delete=models.CASCADE, related_name="trips")
    position = models.PositiveIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="trip_positions_differ", fields=["shift", "position"]
            ),
        ]

    def __str__(self) -> str:
        return f"trip {self.position} of shift {self.shift_id}"


class Load(models.Model):
    """What a truck carries on a trip. `payload_kg` is what it might carry, as planned."""

    trip = models.OneToOneField(Trip, on_delete=models.CASCADE, related_name="load")
    haul = models.ForeignKey(Haul, on_delete=models.PROTECT, related_name="loads")
    mass_kg = models.BigIntegerField()
    payload_kg = models.BigIntegerField()
    loose_m3 = models.FloatField()
    bound = models.CharField(max_length=8, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="load_within_payload",
                condition=Q(
                    mass_kg__gt=0, mass_kg__lte=F("payload_kg"), loose_m3__gt=0
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"load {self.pk} of {self.mass_kg} kg"


class Stop(models.Model):
    """One stop of a shift; `leg_m` and `leg_s` are the drive that led there."""

    shift = models.ForeignKey(Shift, on_delete=models.CASCADE, related_name="stops")
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=8, choices=choices(StopKind))
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    arrive_at = models.DateTimeField()
    begin_at = models.DateTimeField()
    end_at = models.DateTimeField()
    leg_m = models.BigIntegerField()
    leg_s = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="stop_positions_differ", fields=["shift", "position"]
            ),
            models.CheckConstraint(
                name="stop_times_in_order",
                condition=Q(begin_at__gte=F("arrive_at"), end_at__gte=F("begin_at")),
            ),
            models.CheckConstraint(
                name="stop_leg_not_negative", condition=Q(leg_m__gte=0, leg_s__gte=0)
            ),
        ]

    def __str__(self) -> str:
        return f"stop {self.position} of shift {self.shift_id}"


class CostLine(models.Model):
    """One line of a plan's bill; without a shift it pays for something else than driving."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="cost_lines")
    shift = models.ForeignKey(
        Shift, on_delete=models.CASCADE, null=True, related_name="cost_lines"
    )
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=20, choices=choices(LineKind))
    subject = models.CharField(max_length=250)
    amount = models.BigIntegerField()
    formula = models.CharField(max_length=250)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="cost_line_positions_differ", fields=["plan", "position"]
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.position} of plan {self.plan_id}"


class UnplannedHaul(models.Model):
    """What is left of a haul that no shift carries, with the reasons."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="unplanned")
    haul = models.ForeignKey(Haul, on_delete=models.PROTECT, related_name="+")
    mass_kg = models.BigIntegerField()
    code = models.CharField(max_length=60)
    reasons = models.JSONField()
    remedy = models.TextField()
    proven = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="unplanned_once_per_haul", fields=["plan", "haul"]
            ),
            models.CheckConstraint(
                name="unplanned_mass_positive", condition=Q(mass_kg__gt=0)
            ),
        ]

    def __str__(self) -> str:
        return f"haul {self.haul_id} unplanned in plan {self.plan_id}"
