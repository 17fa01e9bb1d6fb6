"""What plans need to be made anew, and the plans that replace others."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from matching.models.runs import PlanRun


class PlanState(models.Model):
    """The haul problem and plan of a run as the planner had them, plain JSON.

    `past` are shifts that broke off; the run's document has them first. `codes` are its
    tickets, shift by shift. The row ids are those behind the problem's numbers.
    """

    run = models.OneToOneField(PlanRun, on_delete=models.CASCADE, related_name="state")
    problem = models.JSONField()
    plan = models.JSONField()
    past = models.JSONField()
    terms = models.JSONField()
    codes = models.JSONField()
    place_ids = models.JSONField()
    truck_ids = models.JSONField()
    haul_ids = models.JSONField()

    def __str__(self) -> str:
        return f"state of {self.run}"


class Replan(models.Model):
    """A run that makes another one anew. `current` marks the one that did replace it: of
    several that were asked for, only one can."""

    run = models.OneToOneField(PlanRun, on_delete=models.CASCADE, related_name="replan")
    replaces = models.ForeignKey(
        PlanRun, on_delete=models.PROTECT, related_name="replans"
    )
    asked = models.JSONField()
    current = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="plan_replaced_once",
                fields=["replaces"],
                condition=Q(current=True),
            ),
            models.CheckConstraint(
                name="plan_replaces_another", condition=~Q(run=models.F("replaces"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.run} for {self.replaces}"
