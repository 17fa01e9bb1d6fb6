"""A real browser on a live server, with the invented roads imported."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from playwright.sync_api import Browser, Page, sync_playwright

from logistics.services.road_import import import_roads
from tests.osm_world import MOMENT
from tests.worlds import (
    Body,
    World,
    adas_soil,
    bens_build,
    dots_sand,
    eves_straw,
    flat_bed,
    place,
    store_build,
    store_offer,
    store_truck,
    tipper,
)

# Playwright's loop runs in this thread, and Django would refuse every query beside it.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

CHROMIUM = "/usr/bin/chromium"
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DEMO = Path(__file__).resolve().parents[2] / "demo_fixtures" / "roads.osm.pbf"
PHONE, DESK = (390, 844), (1280, 900)


@dataclass
class Visit:
    """A page under observation: what its console and its requests complained of."""

    page: Page
    base: str
    complaints: list[str] = field(default_factory=list)

    def open(self, path: str) -> Page:
        """Open an address and wait until nothing is loading any more."""
        self.page.goto(self.base + path)
        self.page.wait_for_load_state("networkidle")
        return self.page

    def watch(self) -> None:
        """Write down console errors, failed requests and answers that are errors."""
        page, noted = self.page, self.complaints
        page.on(
            "console",
            lambda own: (
                noted.append(own.text) if own.type in ("error", "warning") else None
            ),
        )
        page.on("pageerror", lambda own: noted.append(str(own)))
        page.on("requestfailed", lambda own: noted.append(f"failed {own.url}"))
        page.on(
            "response",
            lambda own: (
                noted.append(f"{own.status} {own.url}") if own.status >= 400 else None
            ),
        )


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = CHROMIUM if Path(CHROMIUM).exists() else shutil.which("chromium")
    if path is None:
        pytest.fail("no chromium on this machine: apt-get install chromium")
    with sync_playwright() as playwright:
        own = playwright.chromium.launch(executable_path=path, args=list(QUIET))
        yield own
        own.close()


@pytest.fixture(scope="session")
def demo_networks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("networks")
    import_roads(file=DEMO, name="default", root=root, moment=MOMENT)
    return root


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def visit(
    request: Any, browser: Browser, live_server: Any, settings: Any, demo_networks: Path
) -> Iterator[Visit]:
    settings.MARLPIT_NETWORK_ROOT = demo_networks
    cache.clear()
    width, height = request.param
    phone = request.param == PHONE
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=phone, is_mobile=phone
    )
    own = Visit(context.new_page(), live_server.url)
    own.watch()
    yield own
    context.close()


@pytest.fixture
def world(transactional_db: Any) -> World:
    """Everybody of `tests.worlds`, moved to places of the invented map."""
    near = "2026-03-02", "2026-03-06"
    window = dict(zip(("deliver_from", "deliver_until"), near, strict=True))
    site: Body = place("Ben's garden", 46.60492, 3.27702)
    return World(
        soil=store_offer(adas_soil(place=place("Ada's pit", 46.63593, 3.2815))),
        sand=store_offer(dots_sand(place=place("Dot's yard", 46.67931, 3.29604))),
        straw=store_offer(eves_straw(place=place("Eve's farm", 46.57417, 3.34731))),
        build=store_build(bens_build(place=site, **window)),
        tipper=store_truck(tipper(base=place("Depot", 46.5781, 3.29655))),
        flat_bed=store_truck(flat_bed(base=place("Depot", 46.5781, 3.29655))),
    )
