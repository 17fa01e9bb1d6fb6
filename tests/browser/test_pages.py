"""The pages in a browser, on a phone (390 x 844) and on a desk (1280 x 900).

Sizes and contrast are those of WCAG 2.2: 1.4.3 (4.5 to 1), 1.4.10 (no scrolling sideways
at 320 CSS pixels), 2.1.1 and 2.4.7 (keyboard), 2.5.5 (targets of 44 pixels; ours are 48,
for gloves). The rest is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from matching.models import PlanRun
from matching.services.plans import request_plan
from tests.browser.conftest import Visit
from tests.worlds import AT, World

pytestmark = pytest.mark.slow

# Pixels of the map's canvas that something was drawn on.
DRAWN = """() => {
  const canvas = document.querySelector('.map canvas');
  const data = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
  let drawn = 0;
  for (let i = 3; i < data.length; i += 4) if (data[i] > 0) drawn += 1;
  return drawn / (data.length / 4);
}"""
SIDEWAYS = "() => document.documentElement.scrollWidth - window.innerWidth"
SMALL = """() => [...document.querySelectorAll('a, button, select, input, summary')]
  .filter((own) => own.checkVisibility() && !own.matches('.skip, .whole, [type=hidden]'))
  .filter((own) => !own.closest('p:not(.crumb, .dates p), li:not(nav li), td'))
  .filter((own) => {
    const box = own.getBoundingClientRect();
    return box.height < 47.5 || box.width < 44;
  })
  .map((own) => own.outerHTML.slice(0, 100))"""
# Text whose colour is too near to what lies behind it, by the formula of WCAG 2.2.
PALE = """() => {
  const rgb = (css) => css.match(/[\\d.]+/g).map(Number);
  const light = ([r, g, b]) => {
    const part = [r, g, b].map((v) => {
      const s = v / 255;
      return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * part[0] + 0.7152 * part[1] + 0.0722 * part[2];
  };
  const behind = (own) => {
    for (let at = own; at; at = at.parentElement) {
      const colour = rgb(getComputedStyle(at).backgroundColor);
      if (colour.length === 3 || colour[3] > 0.9) return colour;
    }
    return [255, 255, 255];
  };
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const own = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !own.checkVisibility()) continue;
    if (own.closest('script, svg, noscript')) continue;
    const [a, b] = [light(rgb(getComputedStyle(own).color)), light(behind(own))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) found.push(`${ratio.toFixed(2)} ${own.textContent.slice(0, 40)}`);
  }
  return found;
}"""


def paths(world: World, client: Any) -> dict[str, str]:
    """Addresses of all pages, of a finished plan as well."""
    days = {"first_day": "2026-03-02", "last_day": "2026-03-06"}
    plan = client.post(f"/builds/{world.build}/plan/", days)["Location"]
    assert PlanRun.objects.get().status == "done"
    return {
        "offers": "/",
        "builds": "/builds/",
        "build": f"/builds/{world.build}/",
        "plans": "/plans/",
        "plan": plan,
    }


def test_no_page_complains_scrolls_sideways_or_is_hard_to_hit_or_read(
    visit: Visit, world: World, client: Any
) -> None:
    for name, path in paths(world, client).items():
        page = visit.open(path)
        for fold in page.locator("summary").all():
            fold.click()
        assert page.evaluate(SIDEWAYS) <= 0, name
        assert page.evaluate(SMALL) == [], name
        assert page.evaluate(PALE) == [], name
        assert visit.complaints == [], name
        page.set_viewport_size({"width": 320, "height": 640})
        assert page.evaluate(SIDEWAYS) <= 0, f"{name} at 320"
        page.set_viewport_size(
            visit.page.viewport_size or {"width": 320, "height": 640}
        )


@pytest.mark.parametrize("which", ["offers", "plan"])
def test_the_map_draws_roads_and_places_without_a_tile_server(
    visit: Visit, world: World, client: Any, which: str
) -> None:
    asked: list[str] = []
    visit.page.on("request", lambda own: asked.append(own.url))
    page = visit.open(paths(world, client)[which])
    page.wait_for_selector(".map[data-drawn=true]")
    assert page.evaluate(DRAWN) > 0.01
    marks = page.locator(".map .leaflet-marker-icon")
    assert marks.count() == {"offers": 3, "plan": 5}[which]
    names = [own.get_attribute("aria-label") or "" for own in marks.all()]
    assert any("Ada's" in own for own in names)
    assert all(own.startswith(visit.base) for own in asked)
    assert visit.complaints == []


def test_labels_on_the_map_do_not_lie_over_each_other(
    visit: Visit, world: World, client: Any
) -> None:
    page = visit.open(paths(world, client)["plan"])
    page.wait_for_selector(".map[data-drawn=true]")
    page.wait_for_timeout(100)
    boxes = [
        own.bounding_box()
        for own in page.locator(".leaflet-tooltip").all()
        if own.is_visible()
    ]
    shown = [own for own in boxes if own]
    assert shown
    for at, one in enumerate(shown):
        for other in shown[at + 1 :]:
            apart = (
                one["x"] + one["width"] <= other["x"]
                or other["x"] + other["width"] <= one["x"]
                or one["y"] + one["height"] <= other["y"]
                or other["y"] + other["height"] <= one["y"]
            )
            assert apart


def test_the_timeline_is_seen_with_all_that_a_truck_does(
    visit: Visit, world: World, client: Any
) -> None:
    page = visit.open(paths(world, client)["plan"])
    timeline = page.locator("svg.timeline:visible")
    assert timeline.count() == 1
    box = timeline.bounding_box()
    assert box is not None
    assert box["width"] > 300
    assert box["height"] > 60
    for doing in ("loaded", "empty", "load", "tip"):
        assert timeline.locator(f".t-{doing}").count() > 0
    heights = {
        doing: timeline.locator(f".t-{doing} rect").first.get_attribute("height")
        for doing in ("loaded", "empty")
    }
    # Loaded and empty differ in shape: colour alone would be lost in grey print.
    assert heights["loaded"] != heights["empty"]


def test_the_filter_is_reached_and_used_with_the_keyboard(
    visit: Visit, world: World
) -> None:
    page = visit.open("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.locator(".skip").first.bounding_box()["height"] > 40  # type: ignore[index]
    for _ in range(8):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.id") == "kind":
            break
    assert page.evaluate("document.activeElement.id") == "kind"
    outline = "getComputedStyle(document.activeElement).outlineStyle"
    assert page.evaluate(outline) == "solid"
    page.keyboard.press("s")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**kind=s**")
    assert page.locator(".card").count() == 1


def test_a_plan_is_asked_for_with_the_button_and_read(
    visit: Visit, world: World
) -> None:
    page = visit.open(f"/builds/{world.build}/")
    page.get_by_role("button", name="Plan the trucks").click()
    page.wait_for_url("**/plans/**")
    page.wait_for_selector("h2:has-text('The bill')")
    assert visit.complaints == []


def test_progress_is_followed_until_the_plan_has_ended(
    visit: Visit, world: World
) -> None:
    _, public_id = request_plan(request=world.request, at=AT)
    PlanRun.objects.update(status="running", progress=30)
    page = visit.open(f"/plans/{public_id}/")
    assert page.locator("[data-percent]").inner_text() == "30"
    PlanRun.objects.update(progress=60)
    page.wait_for_function(
        "document.querySelector('[data-percent]').textContent === '60'"
    )
    PlanRun.objects.update(status="cancelled")
    page.wait_for_selector("text=stopped before it was done")
    assert visit.complaints == []


def test_without_scripts_everything_but_the_map_is_there(
    browser: Any, live_server: Any, world: World, client: Any
) -> None:
    addresses = paths(world, client)
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(live_server.url)
    assert not page.locator(".map").is_visible()
    assert page.locator(".card").count() == 3
    page.goto(live_server.url + addresses["plan"])
    assert page.locator("svg.timeline:visible").count() == 1
    assert page.locator("table.bill").is_visible()
    _, public_id = request_plan(request=world.request, at=AT)
    page.goto(f"{live_server.url}/plans/{public_id}/")
    assert page.get_by_role("link", name="Look again").is_visible()
    context.close()
