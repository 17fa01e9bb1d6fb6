"""Sand and straw judged on pages that store nothing.

Sieves are worked by hand from ASTM C136; verdicts are compared with the REST interface.
"""

from __future__ import annotations

import pytest

from tests.api.web.reading import outline
from tests.api.web.test_ground_pages import NASTY, checked

# 500 g: retained in all 2, 20, 40, 70, 90, 99 % from 4.75 to 0.15 mm.
KEPT = {
    "judge": "1",
    "sand": "concrete",
    "shape": "sharp",
    "by": "kept",
    "size_1": "4.75",
    "amount_1": "10",
    "size_2": "2.36",
    "amount_2": "90",
    "size_3": "1.18",
    "amount_3": "100",
    "size_4": "0.6",
    "amount_4": "150",
    "size_5": "0.3",
    "amount_5": "100",
    "size_6": "0.15",
    "amount_6": "45",
    "retained.pan_g": "5",
}
STRAW = {
    "judge": "1",
    "fibre": "wheat",
    "moisture_percent": "14",
    "strand_mm": "300",
    "storage": "barn",
    "mould": "no",
    "smell": "clean",
    "herbicide": "free",
    "straw_kg.likely": "500",
    "bale_kg": "16",
}


def test_a_sand_is_judged_by_the_grams_on_its_sieves(client):
    """No database is allowed here: nothing is read or stored."""
    text = outline(client.get("/sand/", KEPT)).text
    # 2 + 20 + 40 + 70 + 90 + 99 in hundredths.
    assert "Finenessmodulus3.21" in text.replace(" ", "")
    assert "Concrete sand (ASTM C33)" in text
    assert "Grading curve" in text


def test_shares_passing_come_to_the_same_as_grams_kept(client):
    passing = {"1": "98", "2": "80", "3": "60", "4": "30", "5": "10", "6": "1"}
    given = {own: value for own, value in KEPT.items() if own != "retained.pan_g"}
    given |= {"by": "passing"} | {f"amount_{own}": v for own, v in passing.items()}
    text = outline(client.get("/sand/", given)).text
    assert "3.21" in text


def test_a_sand_without_sieves_is_judged_by_its_name(client):
    beach = outline(client.get("/sand/", {"judge": "1", "sand": "beach"}))
    answer = client.post(
        "/api/v1/sand-tests/", {"sand": "beach"}, content_type="application/json"
    ).json()
    assert answer["verdict"]["standing"] == "unfit"
    for reason in answer["verdict"]["reasons"]:
        assert reason["text"] in beach.text
    assert "No sieves were given" in beach.text


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"sand": ""}, "The yard calls it: choose one"),
        ({"sand": "gold"}, "The yard calls it"),
        ({"amount_2": "lots"}, "Sieve 2, amount: this is not a number"),
        ({"size_2": ""}, "Sieve 2, size: fill this in"),
        ({"size_2": "4.75"}, "a sieve occurs twice"),
        ({"retained.pan_g": ""}, "In the pan"),
        ({"retained.sample_g": "900"}, "Dry sample before sieving"),
        (
            {"by": "passing"},
            "Sieve 4, amount: must be less than or equal to 100",
        ),
        ({"fines_percent": "140"}, "must be less than or equal to 100 %"),
    ],
)
def test_sand_that_cannot_be_is_refused_in_words(client, change, message):
    answer = client.get("/sand/", KEPT | change)
    page = outline(answer)
    assert answer.status_code == 400
    assert message.lower() in page.text.lower(), page.text
    kept = [own for own in page.every("input") if own.get("name") == "amount_3"]
    assert kept[0]["value"] == "100"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"amount_2": "lots"}, "amount_2"),
        ({"by": "passing"}, "amount_4"),
        # Row 1 does not count: row 3 is the second of the document.
        ({"by": "passing", "amount_1": "", "amount_2": "9"}, "amount_3"),
    ],
)
def test_what_is_wrong_with_a_sieve_is_said_at_its_cell(client, change, field):
    """WCAG 2.2, 3.3.1; 100 g in row 3 and 150 g in row 4 against at most 100 %."""
    rising = {"amount_3": "130"} if field == "amount_3" else {}
    page = outline(client.get("/sand/", KEPT | change | rising))
    wrong = [own for own in page.every("input") if own.get("aria-invalid")]
    cell = next(own for own in wrong if own["name"] == field)
    assert f"#{cell['id']}" in [own["href"] for own in page.every("a")]
    assert cell["aria-describedby"] == f"{cell['id']}-problem"
    assert cell["aria-describedby"] in [own.get("id") for _, own in page.tags]


def test_straw_is_judged_counted_and_kept(client):
    """500 kg in bales of 16 kg are 31.25, so 32 whole ones."""
    page = outline(client.get("/straw/", STRAW | {"needed_on": "2026-10-05"}))
    text = " ".join(page.text.split())
    assert "32 bales" in text
    assert "Fri 2 Oct 2026" in text
    assert "may become compost" in text
    assert "Stand them on two layers of pallets" in text


def test_hay_is_refused_with_the_reason(client):
    page = outline(client.get("/straw/", STRAW | {"fibre": "hay"}))
    answer = client.post(
        "/api/v1/straw-tests/",
        {"fibre": "hay", "moisture_percent": 14},
        content_type="application/json",
    ).json()
    assert answer["verdict"]["standing"] == "unfit"
    assert answer["verdict"]["reasons"][0]["text"] in page.text


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"fibre": ""}, "The bales are: choose one"),
        ({"moisture_percent": "wet"}, "Moisture: this is not a number"),
        ({"moisture_percent": "100"}, "Moisture: must be less than 100 %"),
        ({"straw_kg.likely": "-1"}, "Straw wanted: must be"),
        ({"bale_kg": "16.5"}, "whole number"),
        ({"bale_kg": "900"}, "One bale"),
        ({"bale": "square"}, "Form of the bales"),
        ({"needed_on": "tomorrow"}, "this is not a date"),
        ({"harvested_year": "2190"}, "Year of harvest"),
    ],
)
def test_straw_that_cannot_be_is_refused_in_words(client, change, message):
    answer = client.get("/straw/", STRAW | change)
    page = outline(answer)
    assert answer.status_code == 400
    assert message.lower() in page.text.lower(), page.text
    label = message.split(":")[0]
    assert f"{label}: {label}" not in page.text
    kept = [own for own in page.every("input") if own.get("name") == "strand_mm"]
    assert kept[0]["value"] == "300"


def test_nothing_typed_becomes_markup(client):
    for address, given in (("/sand/", KEPT), ("/straw/", STRAW)):
        nasty = dict.fromkeys(given, NASTY)
        answer = client.get(address, nasty)
        assert answer.status_code == 400
        assert "<script>alert" not in answer.content.decode()


@pytest.mark.parametrize(
    ("address", "given"),
    [
        ("/sand/", {}),
        ("/sand/", {"sieves": "en"}),
        ("/sand/", KEPT),
        ("/sand/", {"judge": "1"}),
        ("/straw/", {}),
        ("/straw/", STRAW),
        ("/straw/", {"judge": "1"}),
    ],
)
def test_lot_pages_are_built_for_people_who_do_not_see_them(client, address, given):
    answer = client.get(address, given)
    checked(answer)
    assert outline(answer).every("table") == [] or "caption" in answer.content.decode()
