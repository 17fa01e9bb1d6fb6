"""Two journeys in a browser, on a phone 360 pixels wide and on a desk.

Sizes as in `test_pages`; the rest is common practice, no source.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Visit
from tests.browser.test_pages import PALE, SIDEWAYS, SMALL

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

PHONE = {"width": 360, "height": 740}
UNNAMED = """() => [...document.querySelectorAll('input, select')]
  .filter((own) => !own.labels.length || !own.labels[0].textContent.trim())
  .map((own) => own.outerHTML)"""
# Inputs side by side stand level, whatever their labels take.
UNEVEN = """() => [...document.querySelectorAll('.ask-row')].flatMap((grid) => {
  const boxes = [...grid.querySelectorAll('.with-unit input, select')]
    .filter((own) => own.checkVisibility())
    .map((own) => own.getBoundingClientRect());
  return boxes.filter((a) => boxes.some(
    (b) => a.top !== b.top && Math.abs(a.top - b.top) < 40)).map((a) => a.top);
})"""


def narrow(visit: Visit) -> None:
    """The narrower phone of the journey; the desk stays a desk."""
    size = visit.page.viewport_size
    if size and size["width"] < 500:
        visit.page.set_viewport_size(PHONE)  # type: ignore[arg-type]


def holds(visit: Visit, name: str) -> None:
    page = visit.page
    assert page.evaluate(SIDEWAYS) <= 0, name
    assert page.evaluate(SMALL) == [], name
    assert page.evaluate(PALE) == [], name
    assert page.evaluate(UNNAMED) == [], name
    assert page.evaluate(UNEVEN) == [], name
    assert visit.complaints == [], name


def unfold(page: Page) -> None:
    opened = "for (const own of document.querySelectorAll('details')) own.open = true"
    page.evaluate(f"() => {{ {opened} }}")


def test_forty_per_cent_here_and_a_sandy_heap_there(visit: Visit) -> None:
    narrow(visit)
    page = visit.open("/mix/")
    holds(visit, "empty")
    first, second = page.locator("#heap-1"), page.locator("#heap-2")
    for heap, name, clay in ((first, "Clay here", "40"), (second, "Sandy there", "5")):
        heap.get_by_label("Name").fill(name)
        heap.get_by_label("Clay, % likely").fill(clay)
        heap.get_by_label("Ground before (soil)").select_option("clear")
    page.get_by_label("Wall, m³").fill("8")
    page.get_by_role("button", name="What do I order?").click()
    page.wait_for_url("**wall=8**")
    # What to order is read without scrolling.
    order = page.locator(".orders li").first
    box, height = order.bounding_box(), page.evaluate("window.innerHeight")
    assert box is not None
    assert box["y"] + box["height"] < height
    assert "Clay here" in order.inner_text()
    assert "Buckets: 3 of Clay here to 4 of Sandy there" in page.inner_text("main")
    assert page.locator("svg.pic-buckets:visible").count() == 1
    assert page.locator("svg.pic-range:visible").count() == 1
    unfold(page)
    holds(visit, "answer")


def test_a_heap_is_added_and_a_mistake_is_mended(visit: Visit) -> None:
    narrow(visit)
    page = visit.open("/mix/")
    page.locator("#heap-1").get_by_label("Clay, % likely").fill("40")
    page.get_by_role("button", name="Add a heap").click()
    page.wait_for_url("**#heap-3")
    assert page.locator("#heap-1").get_by_label("Clay, % likely").input_value() == "40"
    page.locator("#heap-3").get_by_label("Clay, % likely").fill("much")
    page.locator("#heap-3").get_by_label("Clay, % likely").press("Enter")
    page.wait_for_selector("#trouble")
    # The browser itself notes the status of a page that asks to be mended.
    visit.complaints.clear()
    holds(visit, "trouble")
    page.locator("#trouble a").first.click()
    assert page.evaluate("document.activeElement.id") == "q-c3"
    page.locator("#q-c3").fill("5")
    page.locator("#q-c3").press("Enter")
    page.wait_for_selector("#orders")


def test_from_walls_to_a_calendar_and_to_what_to_order(visit: Visit) -> None:
    narrow(visit)
    page = visit.open("/walls/")
    unfold(page)
    holds(visit, "empty")
    wall = page.locator("#wall-1")
    wall.get_by_label("Length, m").fill("6")
    wall.get_by_label("Height, m", exact=True).first.fill("2,4")
    wall.get_by_label("Thickness, m", exact=True).fill("0.5")
    page.get_by_label("First work day").fill("2027-05-10")
    page.get_by_label("Helpers new to it").fill("6")
    page.get_by_label("Helpers who have built").fill("2")
    page.get_by_role("button", name="What do they swallow?").click()
    page.wait_for_selector("#calendar")
    assert "7.20\xa0m³ of wall" in page.inner_text(".orders")
    assert page.locator("svg.pic-elevation:visible").count() == 1
    assert page.locator("svg.pic-lifts:visible").count() == 1
    unfold(page)
    holds(visit, "answer")
    page.get_by_role("link", name="What do I order for these walls?").click()
    page.wait_for_url("**/mix/?wall=7.20")
    assert page.get_by_label("Wall, m³").input_value() == "7.20"


@pytest.mark.parametrize("path", ["/mix/", "/walls/"])
def test_the_pages_work_without_scripts(visit: Visit, path: str) -> None:
    browser = visit.page.context.browser
    assert browser is not None
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(visit.base + path)
    page.get_by_role("link", name="See an example").click()
    page.wait_for_selector(".orders")
    assert page.locator(".orders li").count() >= 3
    assert page.locator("svg.pic:visible").count() >= 2
    context.close()
