"""Sand and straw keep what is known of them as a record of one look."""

from __future__ import annotations

from typing import Any

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def _record(kind: str, old: dict[str, Any]) -> dict[str, Any]:
    if kind == "sand" and "kind" in old:
        return {"record": {"called": old.pop("kind")}} | old
    if kind == "straw" and "fibre" in old:
        record = {
            "plant": old.pop("fibre"),
            "strand_mm": old.pop("strand_m") * 1000,
            "moisture": old.pop("moisture"),
        }
        return {"record": record} | old
    return old


def forwards(apps: Apps, _editor: BaseDatabaseSchemaEditor) -> None:
    offers = apps.get_model("matching", "Offer")
    for row in offers.objects.filter(kind__in=["sand", "straw"]).iterator():
        row.material = _record(row.kind, row.material)
        row.save(update_fields=["material"])


class Migration(migrations.Migration):
    dependencies = [("matching", "0001_initial")]
    operations = [migrations.RunPython(forwards, migrations.RunPython.noop)]
