"""Jobs that share the total of a plan among its builds."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from matching.models.runs import PlanRun


class ShareRun(models.Model):
    """A request to share a plan's total, and its answer. The row is the queue.

    `attempt` counts the workers that took it. `document` is the sharing as people were
    told it.
    """

    class Status(models.TextChoices):
        """Where a job stands."""

        QUEUED = "queued"
        RUNNING = "running"
        DONE = "done"
        FAILED = "failed"

    run = models.OneToOneField(
        PlanRun, on_delete=models.CASCADE, related_name="share_run"
    )
    status = models.CharField(
        max_length=10, choices=Status.choices, default=Status.QUEUED
    )
    attempt = models.PositiveSmallIntegerField(default=0)
    refusal = models.JSONField(null=True)
    document = models.JSONField(null=True)
    created_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="shares_done_have_a_document",
                condition=~Q(status="done") | Q(document__isnull=False),
            ),
            models.CheckConstraint(
                name="shares_failed_have_a_reason",
                condition=~Q(status="failed") | Q(refusal__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"shares of {self.run}"
