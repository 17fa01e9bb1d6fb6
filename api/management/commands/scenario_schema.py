"""Print the JSON Schema of the scenario document."""

from __future__ import annotations

import json

from django.core.management.base import BaseCommand

from api.documents.scenario import ScenarioDoc


class Command(BaseCommand):
    help = "Print the JSON Schema of scenario files, with units in every description."

    def handle(self, *_args: object, **_options: object) -> None:
        self.stdout.write(json.dumps(ScenarioDoc.model_json_schema(), indent=2))
