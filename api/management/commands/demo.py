"""The whole job on an invented scenario, then the site to look at it."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone
from pydantic import BaseModel

from api.deployment import ask_for_plan, roads
from api.documents.drafts import build_draft, offer_draft, truck_draft
from api.documents.plan_models import PlanAnswer
from api.documents.problems import read_document, read_file
from api.documents.rest import BuildIn, OfferIn, TruckIn
from api.documents.scenario import PlaceDoc, ScenarioDoc
from api.documents.text import plan_text
from logistics.domain.errors import Refused
from logistics.services.places import create_truck
from logistics.services.road_import import import_roads
from logistics.services.road_store import open_network
from matching.domain.requests import PlanRequest
from matching.selectors.builds import list_builds
from matching.selectors.offers import get_offer
from matching.selectors.runs import get_run
from matching.services.builds import create_build
from matching.services.offers import create_offer

FIXTURES = Path(settings.BASE_DIR) / "demo_fixtures"
ALL = 50

Body = TypeVar("Body", bound=BaseModel)


class Command(BaseCommand):
    """Migrate, import the invented roads, load the scenario, plan, print, serve."""

    help = (
        "Load the invented scenario, plan its trucks, print the plan and serve the site."
        " What a database already holds stays; the scenario is loaded once."
    )
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--no-serve", action="store_true", help="stop after the plan is printed"
        )
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *_args: object, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        doc = read_file(ScenarioDoc, FIXTURES / "scenario.json")
        try:
            self._roads()
            builds = self._load(doc)
            answer = self._plan(doc, builds)
        except Refused as refused:
            for problem in refused.problems:
                self.stderr.write(f"{problem.code}: {problem}")
            sys.exit(2)
        self.stdout.write(plan_text(answer))
        if not options["no_serve"]:
            self.stdout.write(
                f"Open http://127.0.0.1:{options['port']}/ (Ctrl-C ends it)"
            )
            self.stdout.flush()
            call_command(
                "runserver", f"127.0.0.1:{options['port']}", use_reloader=False
            )

    def _roads(self) -> None:
        """Import the invented roads unless a network of that name is there."""
        name = settings.MARLPIT_NETWORK
        try:
            facts = open_network(settings.MARLPIT_NETWORK_ROOT, name).facts
        except Refused as refused:
            if refused.problems[0].code != "network_missing":
                raise
            report = import_roads(
                file=FIXTURES / "roads.osm.pbf",
                name=name,
                root=settings.MARLPIT_NETWORK_ROOT,
                moment=timezone.now(),
            )
            self.stdout.write("\n".join([*report.lines(), ""]))
            return
        self.stdout.write(
            f"Roads: network '{name}' from {facts.source} is there already."
        )

    def _load(self, doc: ScenarioDoc) -> list[int]:
        """Store offers, builds and trucks of the scenario, once; the builds' ids."""
        names = {build.name for build in doc.builds}
        held = [
            own.id
            for own in list_builds(offset=0, limit=ALL)[0]
            if own.build.name in names
        ]
        if held:
            return sorted(held)
        places = {place.key: place for place in doc.places}
        now = timezone.now()
        at: dict[str, int] = {}
        for offer in doc.offers:
            body = _with_places(OfferIn, offer, place=places[offer.place])
            number = create_offer(draft=offer_draft(body), roads=roads(), at=now)
            at.setdefault(offer.place, get_offer(number).place.id)
        for truck in doc.trucks:
            away = {"overnight": places[truck.overnight]} if truck.overnight else {}
            lorry = _with_places(TruckIn, truck, base=places[truck.base], **away)
            draft = truck_draft(lorry)
            if truck.only_from is not None:
                only = tuple(at[key] for key in truck.only_from if key in at)
                draft = replace(draft, only_from=only)
            create_truck(draft=draft, roads=roads())
        return [
            create_build(
                draft=build_draft(_with_places(BuildIn, own, place=places[own.place])),
                roads=roads(),
                at=now,
            )
            for own in doc.builds
        ]

    def _plan(self, doc: ScenarioDoc, builds: list[int]) -> PlanAnswer:
        self.stdout.write("Planning; this takes some seconds.")
        self.stdout.flush()
        request = PlanRequest(
            build_ids=tuple(builds),
            first_day=doc.first_day,
            last_day=doc.last_day,
            truck_ids=None,
            reach_m=round(doc.reach_km * 1000),
            count_disposal=doc.objective == "everyone",
            name=doc.name,
        )
        run = get_run(ask_for_plan(request, wait=True))
        if run.problems:
            raise Refused(*run.problems)
        if run.document is None:
            self.stdout.write(
                f"The plan waits for a worker (REDIS_URL is set): /plans/{run.public_id}/"
            )
            sys.exit(0)
        self.stdout.write(f"The plan's page: /plans/{run.public_id}/\n")
        return PlanAnswer.model_validate(run.document)


def _with_places(model: type[Body], doc: BaseModel, **places: PlaceDoc) -> Body:
    """A body of the REST interface from a part of the scenario and its places by field."""
    keys = {"key", "place", "base", "days", "only_from", "overnight"}
    body = doc.model_dump(mode="json", exclude=keys)
    for field, place in places.items():
        body[field] = place.model_dump(mode="json", exclude={"key"})
    return read_document(model, json.dumps(body).encode())
