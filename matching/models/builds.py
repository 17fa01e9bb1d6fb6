"""Builds, their walls, and what they need."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q


class Build(models.Model):
    """A cob building. `mix` is the stored form of its mix target, `schedule` that of its
    calendar, if it has one."""

    name = models.CharField(max_length=120)
    place = models.ForeignKey(
        "logistics.Place", on_delete=models.PROTECT, related_name="builds"
    )
    mix = models.JSONField()
    schedule = models.JSONField(null=True)
    deliver_from = models.DateField(null=True)
    deliver_until = models.DateField(null=True)
    unload_s = models.BigIntegerField()
    storage_m3 = models.FloatField(null=True)
    created_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="build_window_in_order",
                condition=Q(deliver_from__isnull=True)
                | Q(deliver_until__isnull=True)
                | Q(deliver_until__gte=F("deliver_from")),
            ),
            models.CheckConstraint(
                name="build_figures_positive",
                condition=Q(unload_s__gte=0)
                & (Q(storage_m3__isnull=True) | Q(storage_m3__gt=0)),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (build {self.pk})"


class Wall(models.Model):
    """A wall: `shape` is its stored form, `placed_m3` what it holds alone."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="walls")
    position = models.PositiveIntegerField()
    shape = models.JSONField()
    placed_m3 = models.FloatField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="wall_positions_differ", fields=["build", "position"]
            ),
            models.CheckConstraint(
                name="wall_volume_positive", condition=Q(placed_m3__gt=0)
            ),
        ]

    def __str__(self) -> str:
        return f"wall {self.position} of build {self.build_id}"


class Need(models.Model):
    """How much of what a build wants, in usable dry kg: computed from walls, or typed.

    `cargo` is a material, or "mineral" for a blend of subsoil and sand whose clay share
    lies between `clay_low` and `clay_high`. Walls without straw need 0 kg of it.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="needs")
    key = models.CharField(max_length=60)
    cargo = models.CharField(max_length=16)
    dry_kg_low = models.FloatField()
    dry_kg_likely = models.FloatField()
    dry_kg_high = models.FloatField()
    clay_low = models.FloatField(null=True)
    clay_high = models.FloatField(null=True)
    computed = models.BooleanField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="need_keys_differ", fields=["build", "key"]),
            models.CheckConstraint(
                name="need_spread_in_order",
                condition=Q(dry_kg_low__gte=0)
                & Q(dry_kg_likely__gte=F("dry_kg_low"))
                & Q(dry_kg_high__gte=F("dry_kg_likely")),
            ),
            models.CheckConstraint(
                name="need_clay_window",
                condition=Q(clay_low__isnull=True, clay_high__isnull=True)
                | Q(clay_low__gt=0, clay_high__lt=1, clay_high__gte=F("clay_low")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.key} of build {self.build_id}"
