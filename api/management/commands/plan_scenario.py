"""Plan one scenario file; no database is needed."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any, NoReturn

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from api.chatter import solver_chatter_to_stderr
from api.documents.answers import plan_document
from api.documents.plan_models import PlanAnswer
from api.documents.problems import read_file
from api.documents.replan_text import replan_text
from api.documents.replanned import replanned_document
from api.documents.replans import ReplanIn, replan_request
from api.documents.scenario import ScenarioDoc
from api.documents.scenario_reading import read_scenario
from api.documents.share_answers import SharesAnswer, shares_document, shares_text
from api.documents.text import plan_text
from api.exports.kinds import KINDS, Asked, export
from api.exports.scenario_book import scenario_book
from logistics.domain.errors import Refused
from matching.domain.community import CommunityPlan, plan_community
from matching.domain.cost_shares import share_plan
from matching.domain.group_costs import told_of
from matching.domain.scenario import Scenario
from matching.services.file_replans import replan_scenario

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
        beside = parser.add_mutually_exclusive_group()
        beside.add_argument(
            "--shares",
            action="store_true",
            help="share the total among the builds too; plans every group of them",
        )
        beside.add_argument(
            "--replan",
            type=Path,
            metavar="CHANGES",
            help="make the plan anew after what happened by this document (JSON), the one"
            " that the address of a plan's replans takes; a ticket is SHIFT.LOAD from 0",
        )
        parser.add_argument(
            "--export",
            choices=list(KINDS),
            help="write this file instead, and print its path",
        )
        parser.add_argument("--into", type=Path, default=Path(), help="its folder")
        parser.add_argument(
            "--shift", type=int, help="number of a shift, for gpx and paper"
        )
        parser.add_argument(
            "--of", help="key of a truck, build or place, for calendars"
        )

    def handle(self, *_args: object, **options: Any) -> None:
        try:
            doc = read_file(ScenarioDoc, options["file"])
            scenario = read_scenario(doc, network_root=settings.MARLPIT_NETWORK_ROOT)
            with solver_chatter_to_stderr():
                plan = plan_community(scenario)
                answer = plan_document(
                    scenario, plan, name=doc.name, currency=doc.currency, zone=doc.zone
                )
                if options["replan"]:
                    answer = _again(doc, scenario, plan, answer, options["replan"])
        except Refused as refused:
            self._refuse(refused)
        shares = _shares(scenario, plan, doc.currency) if options["shares"] else None
        if options["export"]:
            self._write_export(doc, answer, options)
        elif options["format"] == "json":
            document = answer.model_dump(mode="json")
            if shares:
                document["shares"] = shares.model_dump(mode="json")
            self.stdout.write(json.dumps(document, indent=2, ensure_ascii=False))
        else:
            different = (
                replan_text(answer.replan, doc.currency) if answer.replan else ""
            )
            self.stdout.write(
                plan_text(answer) + different + (shares_text(shares) if shares else "")
            )
        if answer.status != "planned":
            sys.exit(PARTLY)

    def _refuse(self, refused: Refused) -> NoReturn:
        for problem in refused.problems:
            self.stderr.write(f"{problem.code}: {problem}")
        sys.exit(BAD_INPUT)

    def _write_export(
        self, doc: ScenarioDoc, plan: PlanAnswer, options: dict[str, Any]
    ) -> None:
        try:
            book = scenario_book(
                doc, plan, network_root=settings.MARLPIT_NETWORK_ROOT, at=timezone.now()
            )
            asked = Asked(options["shift"], options["of"])
            file = export(book, options["export"], asked)
        except Refused as refused:
            self._refuse(refused)
        path = options["into"] / file.name
        path.write_bytes(file.body)
        self.stdout.write(str(path))


def _shares(scenario: Scenario, plan: CommunityPlan, currency: str) -> SharesAnswer:
    with solver_chatter_to_stderr():
        shares = share_plan(scenario, told_of(scenario, plan))
    return shares_document(shares, currency=currency)


def _again(
    doc: ScenarioDoc,
    scenario: Scenario,
    plan: CommunityPlan,
    answer: PlanAnswer,
    changes: Path,
) -> PlanAnswer:
    request = replan_request(read_file(ReplanIn, changes), now=timezone.now())
    anew = replan_scenario(scenario, plan, request)
    return replanned_document(answer, anew, zone=doc.zone)
