"""The book of a plan made from a scenario file, which is stored nowhere."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from api.documents.plan_models import PlanAnswer
from api.documents.scenario import NetworkRoads, ScenarioDoc
from api.exports.book import Book
from api.exports.ways import road_ways
from logistics.services.road_store import open_network


def scenario_book(
    doc: ScenarioDoc, plan: PlanAnswer, *, network_root: Path, at: datetime
) -> Book:
    """The plan with its ways on the roads that the scenario names; it has no receipts.

    `at` is the moment at which it was planned, with a zone. Raises Refused if the network
    cannot be opened.
    """
    if not isinstance(doc.roads, NetworkRoads):
        return Book(plan, at)
    roads = open_network(network_root, doc.roads.name)
    return Book(plan, at, road_ways(plan, roads), roads.facts.attribution)
