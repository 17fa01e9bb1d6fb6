"""Builds with calendars in the tables: planned by lift, claimed, matched; old walls."""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from api.deployment import render_plan
from matching.domain.requests import PlanRequest
from matching.domain.stored import load_wall
from matching.domain.walls.wall import Opening, Wall
from matching.models import Claim, Need, PlanRun
from matching.selectors.builds import get_build
from matching.selectors.scenarios import gather
from matching.services.claims import agree_claim
from matching.services.matches import view_need
from matching.services.plans import Means, request_plan, run_plan
from tests.worlds import (
    AT,
    MONDAY,
    NO_ROADS,
    adas_soil,
    bens_build,
    dots_sand,
    eves_straw,
    flat_bed,
    store_build,
    store_offer,
    store_truck,
    tipper,
)

ROOT = Path(__file__).resolve().parents[2]
ZONE = ZoneInfo("Europe/Brussels")
MEANS = Means(zone=ZONE, roads=NO_ROADS, clock=lambda: AT, render=render_plan)
EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def calendar(**more: Any) -> dict[str, Any]:
    """Five lifts from 9 March 2026 on, a week apart or so."""
    return {
        "first_day": "2026-03-09",
        "weekdays": EVERY_DAY,
        "crew": {"trained": 12},
        "rain_percent": {"likely": 0},
        "drying": {"warm_days": {"likely": 4}},
        "deliver": "by_lift",
    } | more


@pytest.fixture
def world(db):
    for body in (adas_soil(), dots_sand(), eves_straw()):
        store_offer(body)
    for body in (tipper(), flat_bed()):
        store_truck(body)
    build = store_build(bens_build(calendar=calendar()))
    return PlanRequest((build,), MONDAY, MONDAY.replace(day=29))


def test_walls_and_calendars_are_stored_and_read_back(world):
    """Property: what is read stands for what was sent."""
    own = get_build(world.build_ids[0]).build
    assert own.walls == (Wall.straight(6, 2.4, 0.5),)
    assert own.schedule is not None
    assert own.schedule.by_lift
    assert str(own.schedule.pattern.first_day) == "2026-03-09"


def test_each_lift_is_part_of_the_need_of_its_build(world):
    """Property: every demand has a row of a need, and there are no more rows for it."""
    gathered = gather(world, zone=ZONE)
    needs = {need.key: need.pk for need in Need.objects.all()}
    assert set(needs) == {"mineral", "straw"}
    build = gathered.builds[0]
    assert build.batches
    for batch in build.batches:
        assert gathered.need_ids[f"{build.key}/{batch.key}"] == needs[batch.need]


def test_an_offer_serves_a_need_at_several_dates_with_a_claim_for_each(world):
    """Each haul has its claim, all can be agreed, and the offer counts them together."""
    run_id, _ = request_plan(request=world, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    run = PlanRun.objects.get(pk=run_id)
    assert run.status == "done", run.refusal
    claims = list(Claim.objects.filter(run=run))
    hauls = {claim.haul_id for claim in claims}
    assert len(hauls) == len(claims)
    document = run.document
    assert document is not None
    assert len(claims) == len(document["deals"])
    pairs = {(claim.offer_id, claim.need_id) for claim in claims}
    assert len(pairs) < len(claims)
    assert sum(own.kg for own in claims) == sum(
        deal["moist_kg"] for deal in document["deals"]
    )
    for claim in claims:
        agree_claim(claim_id=claim.pk, at=AT)
    soil = [own for own in claims if own.offer.kind == "subsoil"]
    soil[0].offer.refresh_from_db()
    assert soil[0].offer.reserved_kg == sum(own.kg for own in soil)


def test_matches_of_a_need_rank_all_of_it_whenever_it_comes(world):
    """Property: as if it came at once."""
    need = Need.objects.get(key="mineral")
    view = view_need(need_id=need.pk, request=world, zone=ZONE, roads=NO_ROADS)
    demand = view.scenario.demands[view.demand]
    assert demand.key.endswith("/mineral")
    assert demand.dry_kg == pytest.approx(need.dry_kg_likely)
    assert view.matches


def test_a_plan_before_any_lift_wants_its_material_is_empty_but_says_when(world):
    early = PlanRequest(
        world.build_ids, MONDAY.replace(month=1), MONDAY.replace(month=1, day=3)
    )
    run_id, _ = request_plan(request=early, at=AT)
    assert run_plan(run_id=run_id, means=MEANS)
    document = PlanRun.objects.get(pk=run_id).document
    assert document is not None
    assert document["shifts"] == []
    assert len(document["builds"][0]["later"]) == 10


def test_old_walls_are_moved_over_whole(tmp_path):
    """A database from before, with a wall of 6 x 2.4 x 0.5 m and a door of 0.9 x 2 m:
    (14.4 - 1.8) x 0.5 = 6.3 m3 by hand. SQLite, whatever the other tests run on."""
    env = {
        **{k: v for k, v in os.environ.items() if k != "DATABASE_URL"},
        "MARLPIT_DATA_DIR": str(tmp_path),
    }

    def migrate(*target: str) -> None:
        subprocess.run(
            [sys.executable, "manage.py", "migrate", *target],
            cwd=ROOT,
            env=env,
            check=True,
            capture_output=True,
            timeout=120,
        )

    migrate("matching", "0002")
    with sqlite3.connect(tmp_path / "marlpit.sqlite3") as db:
        db.execute(
            "INSERT INTO matching_wall (build_id, position, length_m, height_m,"
            " thickness_m, openings) VALUES (1, 0, 6, 2.4, 0.5, ?)",
            [json.dumps([{"width_m": 0.9, "height_m": 2.0}])],
        )
        columns = {
            "name": "'Hut'",
            "mix": "'{}'",
            "unload_s": "600",
            "created_at": "'2026-03-01'",
            "id": "1",
            "place_id": "1",
        }
        db.execute(
            f"INSERT INTO matching_build ({', '.join(columns)})"
            f" VALUES ({', '.join(columns.values())})"
        )
        places = {
            name: "''" if kind.startswith(("varchar", "text")) else "0"
            for _, name, kind, needed, *_ in db.execute(
                "PRAGMA table_info(logistics_place)"
            )
            if needed and name != "id"
        }
        places |= {"id": "1", "hours": "'[]'"} if "hours" in places else {"id": "1"}
        db.execute(
            f"INSERT INTO logistics_place ({', '.join(places)})"
            f" VALUES ({', '.join(places.values())})"
        )
    migrate()
    with sqlite3.connect(tmp_path / "marlpit.sqlite3") as db:
        shape, volume = db.execute(
            "SELECT shape, placed_m3 FROM matching_wall"
        ).fetchone()
    assert load_wall(json.loads(shape)) == Wall.straight(
        6, 2.4, 0.5, (Opening(0.9, 2.0),)
    )
    assert volume == pytest.approx(6.3)
