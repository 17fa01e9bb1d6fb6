"""Something changed, on a phone of 360 x 740 without scripts: told in four taps.

Sizes and contrast are those of WCAG 2.2, as in `test_pages`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from api.web.change_form import FORMS
from tests.api.web.test_change_pages import future_plan
from tests.browser.test_ground_pages import PHONE, easy
from tests.worlds import store_truck, stored_world, tipper

pytestmark = pytest.mark.slow


@pytest.fixture
def phone(browser: Any, live_server: Any, transactional_db: Any) -> Iterator[Any]:
    context = browser.new_context(
        viewport=PHONE,
        has_touch=True,
        is_mobile=True,
        java_script_enabled=False,
        base_url=live_server.url,
    )
    yield context.new_page()
    context.close()


@pytest.fixture
def scripted(browser: Any, live_server: Any, transactional_db: Any) -> Iterator[Any]:
    context = browser.new_context(
        viewport=PHONE, has_touch=True, is_mobile=True, base_url=live_server.url
    )
    yield context.new_page()
    context.close()


def test_a_broken_truck_is_told_in_four_taps_without_scripts(phone: Any) -> None:
    world = stored_world()
    store_truck(tipper(name="Second tipper"))
    public_id = future_plan(world)
    phone.goto(f"/plans/{public_id}/")
    phone.get_by_role("link", name="Something changed").tap()
    phone.get_by_role("link", name="A truck is out").tap()
    phone.get_by_label("Truck", exact=True).select_option(index=1)
    phone.get_by_role("button", name="Plan what is left").tap()
    phone.get_by_role("heading", name="What is different").wait_for()
    assert phone.get_by_text("cannot drive from").count() == 1
    phone.get_by_role("link", name="an earlier plan").tap()
    phone.get_by_text("This plan no longer holds").wait_for()
    phone.get_by_role("link", name="See the plan that replaced it").tap()
    phone.get_by_role("heading", name="What is different").wait_for()


def test_every_form_is_easy_to_hit_and_read_on_a_small_phone(scripted: Any) -> None:
    public_id = future_plan(stored_world())
    scripted.goto(f"/plans/{public_id}/change/")
    easy(scripted, "what has changed")
    for kind in FORMS:
        scripted.goto(f"/plans/{public_id}/change/?kind={kind}")
        easy(scripted, kind)
        button = scripted.get_by_role("button", name="Plan what is left")
        box = button.bounding_box()
        assert box["y"] + box["height"] < 2 * PHONE["height"], kind
