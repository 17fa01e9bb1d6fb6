"""Plan runs, which are jobs, and the claims that they propose."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from matching.models.builds import Need
from matching.models.offers import Offer


class PlanRun(models.Model):
    """A request to plan, its progress, and its answer. The row is the queue.

    `attempt` counts the workers that took it: only the latest may write the answer.
    `document` is the plan as people were told it; it never changes. Money in minor units.
    """

    class Status(models.TextChoices):
        """Where a job stands."""

        QUEUED = "queued"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"
        CANCELLED = "cancelled"

    public_id = models.UUIDField(unique=True)
    status = models.CharField(
        max_length=10, choices=Status.choices, default=Status.QUEUED
    )
    progress = models.PositiveSmallIntegerField(default=0)
    attempt = models.PositiveSmallIntegerField(default=0)
    request = models.JSONField()
    refusal = models.JSONField(null=True)
    plan = models.OneToOneField(
        "logistics.Plan", on_delete=models.PROTECT, null=True, related_name="run"
    )
    allocation_cost = models.FloatField(null=True)
    allocation_bound = models.FloatField(null=True)
    allocation_optimal = models.BooleanField(null=True)
    total = models.BigIntegerField(null=True)
    total_bound = models.BigIntegerField(null=True)
    bound_method = models.CharField(max_length=200, blank=True)
    proven_optimal = models.BooleanField(null=True)
    offers_left_out = models.PositiveIntegerField(default=0)
    document = models.JSONField(null=True)
    created_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(name="run_by_status", fields=["status", "started_at"])]
        constraints = [
            models.CheckConstraint(
                name="run_progress_in_percent", condition=Q(progress__lte=100)
            ),
            models.CheckConstraint(
                name="run_done_has_a_plan",
                condition=~Q(status="done")
                | Q(
                    plan__isnull=False,
                    document__isnull=False,
                    total__isnull=False,
                    total_bound__isnull=False,
                    total_bound__lte=F("total"),
                ),
            ),
            models.CheckConstraint(
                name="run_failed_has_a_reason",
                condition=~Q(status="failed") | Q(refusal__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"plan run {self.public_id}"


class Claim(models.Model):
    """Part of an offer for a need. A proposal promises nothing; an agreed claim is counted
    in the offer's `reserved_kg`. Each haul of a run has its own: lifts may be supplied
    from one offer at several dates."""

    class Status(models.TextChoices):
        """How binding a claim is."""

        PROPOSED = "proposed"
        AGREED = "agreed"

    offer = models.ForeignKey(Offer, on_delete=models.PROTECT, related_name="claims")
    need = models.ForeignKey(Need, on_delete=models.PROTECT, related_name="claims")
    run = models.ForeignKey(
        PlanRun, on_delete=models.CASCADE, null=True, related_name="claims"
    )
    haul = models.ForeignKey(
        "logistics.Haul", on_delete=models.PROTECT, null=True, related_name="+"
    )
    kg = models.BigIntegerField()
    status = models.CharField(
        max_length=10, choices=Status.choices, default=Status.PROPOSED
    )
    agreed_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(name="claim_mass_positive", condition=Q(kg__gt=0)),
            models.UniqueConstraint(
                name="claim_once_per_run",
                fields=["run", "offer", "need"],
                condition=Q(haul__isnull=True),
            ),
            models.UniqueConstraint(name="claim_once_per_haul", fields=["haul"]),
            models.CheckConstraint(
                name="claim_agreed_at_some_moment",
                condition=Q(status="proposed", agreed_at__isnull=True)
                | Q(status="agreed", agreed_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"claim {self.pk} of {self.kg} kg"
