"""`manage.py import_roads FILE`: make the road network of an area for trucks."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from logistics.domain.errors import Refused
from logistics.domain.roads.limits import DEFAULT_VEHICLE
from logistics.services.road_import import import_roads

REFUSED = 2


class Command(BaseCommand):
    """Exit status 2, and nothing stored, when the file cannot be used."""

    help = (
        "Import the roads of an OpenStreetMap extract (.osm.pbf, .osm, .osm.bz2, .osm.gz) "
        "into a network for trucks. An older network of the same name is replaced."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--name", default="default", help="name of the network")
        parser.add_argument(
            "--ferries", action="store_true", help="include car ferries"
        )
        parser.add_argument(
            "--gross-t",
            type=float,
            default=DEFAULT_VEHICLE.gross_t,
            help="gross weight in tonnes that every road must bear (default: %(default)g)",
        )

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ARG002
        try:
            report = import_roads(
                file=options["file"],
                name=options["name"],
                root=settings.MARLPIT_NETWORK_ROOT,
                moment=timezone.now(),
                ferries=options["ferries"],
                vehicle=replace(DEFAULT_VEHICLE, gross_t=options["gross_t"]),
            )
        except Refused as refusal:
            for problem in refusal.problems:
                self.stderr.write(f"{problem.code}: {problem}")
            sys.exit(REFUSED)
        except OSError as error:
            self.stderr.write(f"not_written: the network could not be stored: {error}")
            sys.exit(REFUSED)
        for line in report.lines():
            self.stdout.write(line)
