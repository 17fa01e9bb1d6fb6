"""Plan one scenario file; no database is needed."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser

from api.chatter import solver_chatter_to_stderr
from api.documents.answers import plan_document
from api.documents.problems import read_file
from api.documents.scenario import ScenarioDoc
from api.documents.scenario_reading import read_scenario
from api.documents.share_answers import SharesAnswer, shares_document, shares_text
from api.documents.text import plan_text
from logistics.domain.errors import Refused
from matching.domain.community import CommunityPlan, plan_community
from matching.domain.cost_shares import share_plan
from matching.domain.group_costs import told_of
from matching.domain.scenario import Scenario

PARTLY, BAD_INPUT = 1, 2


class Command(BaseCommand):
    help = (
        "Plan a scenario file: who supplies whom, loads, shifts and the bill. Exit status 0:"
        " all planned; 1: only a part (what can be done is printed); 2: bad input."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="scenario document (JSON)")
        parser.add_argument("--format", choices=["json", "text"], default="text")
        parser.add_argument(
            "--shares",
            action="store_true",
            help="share the total among the builds too; plans every group of them",
        )

    def handle(self, *_args: object, **options: object) -> None:
        try:
            doc = read_file(ScenarioDoc, Path(str(options["file"])))
            scenario = read_scenario(doc, network_root=settings.MARLPIT_NETWORK_ROOT)
            with solver_chatter_to_stderr():
                plan = plan_community(scenario)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(f"{problem.code}: {problem}")
            sys.exit(BAD_INPUT)
        answer = plan_document(
            scenario, plan, name=doc.name, currency=doc.currency, zone=doc.zone
        )
        shares = _shares(scenario, plan, doc.currency) if options["shares"] else None
        if options["format"] == "json":
            document = answer.model_dump(mode="json")
            if shares:
                document["shares"] = shares.model_dump(mode="json")
            self.stdout.write(json.dumps(document, indent=2, ensure_ascii=False))
        else:
            self.stdout.write(
                plan_text(answer) + (shares_text(shares) if shares else "")
            )
        if not plan.complete:
            sys.exit(PARTLY)


def _shares(scenario: Scenario, plan: CommunityPlan, currency: str) -> SharesAnswer:
    with solver_chatter_to_stderr():
        shares = share_plan(scenario, told_of(scenario, plan))
    return shares_document(shares, currency=currency)
