"""Jobs that share the total of a plan among its builds."""

from __future__ import annotations

import django.db.models.deletion
from django.db import migrations, models

STATES = [
    ("queued", "Queued"),
    ("running", "Running"),
    ("done", "Done"),
    ("failed", "Failed"),
]


class Migration(migrations.Migration):
    dependencies = [("matching", "0003_whole_walls_and_calendars")]
    operations = [
        migrations.CreateModel(
            "ShareRun",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=STATES, default="queued", max_length=10
                    ),
                ),
                ("attempt", models.PositiveSmallIntegerField(default=0)),
                ("refusal", models.JSONField(null=True)),
                ("document", models.JSONField(null=True)),
                ("created_at", models.DateTimeField()),
                ("started_at", models.DateTimeField(null=True)),
                ("finished_at", models.DateTimeField(null=True)),
                (
                    "run",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="share_run",
                        to="matching.planrun",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        name="shares_done_have_a_document",
                        condition=models.Q(("status", "done"), _negated=True)
                        | models.Q(document__isnull=False),
                    ),
                    models.CheckConstraint(
                        name="shares_failed_have_a_reason",
                        condition=models.Q(("status", "failed"), _negated=True)
                        | models.Q(refusal__isnull=False),
                    ),
                ]
            },
        ),
    ]
