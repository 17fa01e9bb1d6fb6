"""Tickets: one goes with each load and records what came."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from logistics.models.plans import Load


class Ticket(models.Model):
    """The ticket of a load, found by a code that nobody can guess.

    `loads_at` and `tips_at` are as planned. It follows its load from plan to plan, because people hold its print; one whose load
    was taken out of the plan is withdrawn. `settled` says that a plan made since has dealt
    with a refusal.
    """

    class State(models.TextChoices):
        """What is known of the load."""

        OPEN = "open"
        ACCEPTED = "accepted"
        REFUSED = "refused"
        WITHDRAWN = "withdrawn"

    code = models.CharField(max_length=32, unique=True)
    load = models.OneToOneField(Load, on_delete=models.CASCADE, related_name="ticket")
    loads_at = models.DateTimeField()
    tips_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    moist_kg = models.BigIntegerField(null=True)
    loose_m3 = models.FloatField(null=True)
    arrived_at = models.DateTimeField(null=True)
    vehicle = models.CharField(max_length=40, blank=True, default="")
    reason = models.CharField(max_length=20, blank=True, default="")
    checklist = models.JSONField(null=True)
    comes_again = models.BooleanField(null=True)
    settled = models.BooleanField(default=False)
    recorded_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="ticket_says_what_came",
                condition=Q(
                    state__in=["open", "withdrawn"],
                    moist_kg__isnull=True,
                    loose_m3__isnull=True,
                    arrived_at__isnull=True,
                    recorded_at__isnull=True,
                    reason="",
                )
                | Q(
                    state="accepted",
                    arrived_at__isnull=False,
                    recorded_at__isnull=False,
                    reason="",
                )
                # A comparison with nothing known would let the row pass.
                & (Q(moist_kg__isnull=False) | Q(loose_m3__isnull=False))
                | Q(
                    state="refused",
                    moist_kg__isnull=True,
                    loose_m3__isnull=True,
                    arrived_at__isnull=False,
                    recorded_at__isnull=False,
                    comes_again__isnull=False,
                )
                & ~Q(reason=""),
            ),
            models.CheckConstraint(
                name="ticket_amounts_positive",
                condition=(Q(moist_kg__isnull=True) | Q(moist_kg__gt=0))
                & (Q(loose_m3__isnull=True) | Q(loose_m3__gt=0)),
            ),
        ]

    def __str__(self) -> str:
        return f"ticket {self.pk} ({self.state})"
