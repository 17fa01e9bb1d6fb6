"""Walls keep their whole shape, builds a calendar, and claims one haul each."""

from __future__ import annotations

from typing import Any

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def shapes(apps: Apps, _editor: BaseDatabaseSchemaEditor) -> None:
    """Old walls were straight, of one height and thickness, their openings unplaced."""
    walls: Any = apps.get_model("matching", "Wall")
    for row in walls.objects.iterator():
        holes = sum(own["width_m"] * own["height_m"] for own in row.openings)
        row.shape = {
            "run": row.length_m,
            "height": row.height_m,
            "thickness_m": row.thickness_m,
            "openings": row.openings,
        }
        row.placed_m3 = (row.length_m * row.height_m - holes) * row.thickness_m
        row.save(update_fields=["shape", "placed_m3"])


class Migration(migrations.Migration):
    dependencies = [("matching", "0002_records_of_sand_and_straw")]
    operations = [
        migrations.AddField("build", "schedule", models.JSONField(null=True)),
        migrations.RemoveConstraint("wall", "wall_sizes_positive"),
        migrations.AddField("wall", "shape", models.JSONField(null=True)),
        migrations.AddField("wall", "placed_m3", models.FloatField(null=True)),
        migrations.RunPython(shapes),
        migrations.AlterField("wall", "shape", models.JSONField()),
        migrations.AlterField("wall", "placed_m3", models.FloatField()),
        migrations.AddConstraint(
            "wall",
            models.CheckConstraint(
                name="wall_volume_positive", condition=models.Q(placed_m3__gt=0)
            ),
        ),
        migrations.RemoveField("wall", "length_m"),
        migrations.RemoveField("wall", "height_m"),
        migrations.RemoveField("wall", "thickness_m"),
        migrations.RemoveField("wall", "openings"),
        migrations.RemoveConstraint("claim", "claim_once_per_run"),
        migrations.AddConstraint(
            "claim",
            models.UniqueConstraint(
                name="claim_once_per_run",
                fields=["run", "offer", "need"],
                condition=models.Q(haul__isnull=True),
            ),
        ),
        migrations.AddConstraint(
            "claim",
            models.UniqueConstraint(name="claim_once_per_haul", fields=["haul"]),
        ),
    ]
