"""Hauls and the plans that carry them."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from logistics.domain.planning.result import LineKind, StopKind
from logistics.domain.trucks import Cargo
from logistics.models.choosing import choices
from logistics.models.fleet import Place, Truck


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
