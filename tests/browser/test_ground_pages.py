"""A jar beside the heap: tests of a soil entered on a phone of 360 x 740 without scripts.

Sizes and contrast are those of WCAG 2.2, as in `test_pages`; 360 pixels are a small phone,
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from api.web.soil_forms import FORMS
from matching.selectors.offers import get_offer
from tests.browser.test_pages import PALE, SIDEWAYS, SMALL
from tests.worlds import adas_soil, dots_sand, eves_straw, store_offer

pytestmark = pytest.mark.slow

PHONE = {"width": 360, "height": 740}
# Buttons and links that a thumb must hit, and where a tile ends under the next one.
OVERLAPS = """() => {
  const boxes = [...document.querySelectorAll('.pick, .go .button, .with-unit input')]
    .filter((own) => own.checkVisibility())
    .map((own) => own.getBoundingClientRect());
  let found = 0;
  boxes.forEach((a, i) => boxes.slice(i + 1).forEach((b) => {
    if (a.left < b.right - 1 && b.left < a.right - 1
      && a.top < b.bottom - 1 && b.top < a.bottom - 1) found += 1;
  }));
  return found;
}"""


@pytest.fixture
def phone(browser: Any, live_server: Any, transactional_db: Any) -> Iterator[Any]:
    context = browser.new_context(
        viewport=PHONE,
        has_touch=True,
        is_mobile=True,
        base_url=live_server.url,
    )
    yield context.new_page()
    context.close()


def easy(page: Any, name: str) -> None:
    for fold in page.locator("main summary").all():
        if fold.is_visible():
            fold.click()
    assert page.evaluate(SIDEWAYS) <= 0, name
    assert page.evaluate(SMALL) == [], name
    assert page.evaluate(PALE) == [], name
    assert page.evaluate(OVERLAPS) == 0, name


def heap() -> int:
    return store_offer(
        adas_soil(
            material={
                "kind": "subsoil",
                "history": "clear",
                "depth_from_m": 1,
                "depth_to_m": 2.5,
            }
        )
    )


def test_a_jar_is_entered_beside_the_heap_with_four_fields(phone: Any) -> None:
    offer = heap()
    phone.goto("/")
    phone.get_by_role("link", name="Ada's heap").tap()
    phone.get_by_role("link", name="Add a test").tap()
    phone.get_by_role("link", name="Jar").tap()
    # What is left to type: three heights and a name; day and depth stand there.
    for label, typed in (
        ("Sand", "60"),
        ("Silt", "20"),
        ("Clay", "20"),
        ("Tested by", "Ben"),
    ):
        field = phone.get_by_label(label, exact=True)
        assert field.input_value() == ""
        field.fill(typed)
    phone.get_by_role("button", name="Save this test").tap()
    phone.wait_for_url(f"**/offers/{offer}/**")
    assert phone.locator(".changed").inner_text().startswith("Clay was 0 to 100 %, now")
    assert phone.locator(".changed").bounding_box()["y"] < PHONE["height"]
    (jar,) = get_offer(offer).offer.material.tests  # type: ignore[union-attr]
    assert (jar.kind, jar.sample.tester) == ("jar", "Ben")


def test_what_is_wrong_leads_to_its_field_and_keeps_the_rest(phone: Any) -> None:
    offer = heap()
    phone.goto(f"/offers/{offer}/tests/jar/")
    phone.get_by_label("Sand", exact=True).fill("60")
    phone.get_by_label("Silt", exact=True).fill("twenty")
    phone.get_by_role("button", name="Save this test").tap()
    trouble = phone.get_by_role("alert")
    trouble.wait_for()
    assert trouble.get_by_role("listitem").count() == 3
    assert phone.get_by_label("Sand", exact=True).input_value() == "60"
    silt = phone.get_by_label("Silt", exact=True)
    assert silt.input_value() == "twenty"
    assert silt.get_attribute("aria-invalid") == "true"
    trouble.get_by_role("link", name="Clay").tap()
    assert phone.evaluate("location.hash") == "#q-clay-mm"
    easy(phone, "wrong jar")


def test_every_form_is_easy_to_hit_and_read_on_a_small_phone(phone: Any) -> None:
    offer = heap()
    for kind in FORMS:
        phone.goto(f"/offers/{offer}/tests/{kind}/")
        easy(phone, kind)


def test_a_form_fits_two_screens_of_a_small_phone(phone: Any) -> None:
    """The button that saves is at most one swipe away; ours, no source."""
    offer = heap()
    for kind in FORMS:
        phone.goto(f"/offers/{offer}/tests/{kind}/")
        button = phone.get_by_role("button", name="Save this test").bounding_box()
        assert button["y"] + button["height"] < 2 * PHONE["height"], kind


def test_answers_are_easy_to_read_on_a_small_phone_and_on_a_desk(phone: Any) -> None:
    offer = heap()
    sand, straw = store_offer(dots_sand()), store_offer(eves_straw())
    sieves = "&".join(
        f"size_{n}={size}&amount_{n}={share}"
        for n, (size, share) in enumerate(
            ((4.75, 98), (2.36, 85), (1.18, 60), (0.6, 40), (0.3, 15), (0.15, 3)), 1
        )
    )
    for address in (
        "/judge/",
        f"/offers/{offer}/",
        f"/offers/{offer}/tests/",
        f"/offers/{sand}/",
        f"/offers/{straw}/",
        "/ground/",
        "/sand/",
        f"/sand/?judge=1&sand=concrete&by=passing&{sieves}",
        "/straw/",
        "/straw/?judge=1&fibre=wheat&moisture_percent=14&straw_kg.likely=500",
    ):
        for width in (PHONE, {"width": 1280, "height": 900}):
            phone.set_viewport_size(width)
            phone.goto(address)
            easy(phone, f"{address} at {width['width']}")


def test_tests_are_gathered_without_an_offer_and_without_scripts(
    browser: Any, live_server: Any, transactional_db: Any
) -> None:
    context = browser.new_context(
        viewport=PHONE, java_script_enabled=False, base_url=live_server.url
    )
    page = context.new_page()
    page.goto("/judge/")
    page.locator("a.kind[href='/ground/']").click()
    page.get_by_label("Clear past").check()
    page.get_by_role("button", name="Ball drop").click()
    page.get_by_label("holds, a few cracks").check()
    page.get_by_label("From", exact=True).fill("1")
    page.get_by_label("To", exact=True).fill("2")
    page.get_by_label("Tested by").fill("Ben")
    page.get_by_role("button", name="Weigh it").click()
    assert page.get_by_label("Clear past").is_checked()
    page.locator("button.kind[value=ribbon]").click()
    assert page.get_by_label("Tested by").input_value() == "Ben"
    page.get_by_label("It broke at").fill("35")
    page.get_by_role("button", name="Weigh it").click()
    assert page.locator(".changed").inner_text().startswith("Clay was")
    assert page.locator(".gathered li").count() == 2
    assert page.locator("svg.pic-triangle:visible").count() == 1
    page.get_by_role("button", name="Take out").first.click()
    assert page.locator(".gathered li").count() == 1
    context.close()


def test_a_tile_is_chosen_with_the_keyboard_and_shows_it(phone: Any) -> None:
    phone.goto("/ground/")
    phone.locator("#q-history-2").focus()
    phone.keyboard.press("ArrowLeft")
    assert phone.locator("#q-history-1").is_checked()
    outline = phone.evaluate(
        "getComputedStyle(document.querySelector('#q-history-1 + span')).outlineStyle"
    )
    assert outline == "solid"
