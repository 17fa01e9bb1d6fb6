"""Recording a load at the gate: with a thumb, and without scripts.

Sizes as in `test_pages`; that all is on one screen is the project's own rule.
"""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import PHONE, Visit
from tests.browser.test_pages import PALE, SIDEWAYS, SMALL
from tests.tickets import CODES, three_tickets

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]

LOOKS = ("Look", "Smell", "Debris")


def holds(visit: Visit) -> None:
    assert visit.page.evaluate(SIDEWAYS) <= 0
    assert visit.page.evaluate(SMALL) == []
    assert visit.page.evaluate(PALE) == []
    assert visit.complaints == []


def look(page: Page) -> None:
    for name in LOOKS:
        page.get_by_role("group", name=name).get_by_label("Fine").check()


def test_a_load_is_accepted_on_one_screen(visit: Visit) -> None:
    three_tickets()
    page = visit.open(f"/tickets/{CODES[0]}/")
    holds(visit)
    button = page.get_by_role("button", name="Accept it")
    box, height = button.bounding_box(), page.evaluate("window.innerHeight")
    assert box is not None
    assert box["y"] + box["height"] <= height
    look(page)
    page.get_by_label("Weighed").fill("7810")
    button.click()
    page.wait_for_selector("#receipt")
    holds(visit)
    words = page.inner_text("main")
    assert "Accepted" in words
    assert "7.81\xa0t" in words
    assert "16.19\xa0t" in words
    assert page.locator("form").count() == 0


def test_suspect_asbestos_is_turned_away_after_a_mistake(visit: Visit) -> None:
    three_tickets()
    page = visit.open(f"/tickets/{CODES[0]}/")
    look(page)
    page.get_by_label("stop, do not tip").check()
    page.get_by_label("Weighed").fill("7810")
    page.get_by_role("button", name="Accept it").click()
    page.wait_for_selector("#trouble")
    # The browser itself notes the status of a page that asks to be mended.
    visit.complaints.clear()
    holds(visit)
    page.get_by_role("button", name="Turn it away").click()
    page.wait_for_selector("#receipt")
    assert "Do not touch or tip it" in page.inner_text("main")
    assert "charged in full" in page.inner_text("main")
    holds(visit)


def test_the_gate_works_without_scripts(visit: Visit) -> None:
    three_tickets()
    browser = visit.page.context.browser
    assert browser is not None
    width, height = PHONE
    context = browser.new_context(
        java_script_enabled=False, viewport={"width": width, "height": height}
    )
    page = context.new_page()
    page.goto(f"{visit.base}/tickets/{CODES[0]}/")
    look(page)
    page.get_by_label("Or in the body").fill("5,6")
    page.get_by_role("button", name="Accept it").click()
    page.wait_for_selector("#receipt")
    assert "8.00\xa0t" in page.inner_text("main")
    context.close()
