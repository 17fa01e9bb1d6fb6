"""Printed sheets and tickets: their words read by pypdf, their codes by a code reader."""

from __future__ import annotations

import io
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from api.documents.truck_checks import LineCheck, PlaceCheck, TruckCheck
from api.exports.antimeridian import unrolled
from api.exports.book import Book, halts
from api.exports.driver_sheet import driver_sheets
from api.exports.fonts import printable
from api.exports.load_ticket import load_tickets
from api.exports.paper import HIGH, LOST_NOTE
from api.exports.route_map import PAD, frame
from logistics.domain.access import LineState
from logistics.domain.errors import Refused
from tests.api.exports.plans import (
    MORNING,
    RECEIPTS,
    STORED,
    book,
    milk_run,
    place,
    plan,
    strange_book,
    two_loads,
)


def pages(body: bytes) -> list[str]:
    reader = PdfReader(io.BytesIO(body), strict=True)
    return [" ".join(own.extract_text().split()) for own in reader.pages]


def codes(body: bytes, dpi: int) -> list[list[str]]:
    """The QR codes on each page, rendered as a camera or a printer would see them."""
    document = pypdfium2.PdfDocument(body)
    try:
        found = []
        for page in document:
            picture = page.render(scale=dpi / 72).to_pil().convert("L")
            found.append([own.text for own in zxingcpp.read_barcodes(picture)])
        return found
    finally:
        document.close()


def test_a_sheet_has_stops_in_order_loads_limits_rests_and_cautions():
    text = " ".join(pages(driver_sheets(book())))
    at = [
        text.index(words)
        for words in (
            "Tipper",
            "Mon 4 May 2026",
            "Carries at most 8.00 t and 7.5 m³",
            "Never raise a body under wires.",
            "Nobody stands behind",
            "Leave: Depot",
            "Load: Ada's pit",
            "Subsoil: 8.00 t or 5.7 m³ loose",
            "Tip: Ben's garden",
            "Clean the body: Ben's garden",
            "Rest: Ben's garden",
            "Subsoil: 7.60 t or 5.4 m³ loose",
            "Back: Depot",
            "straight lines",
        )
    ]
    assert at == sorted(at)
    for clock in ("07:00", "07:20", "to 07:30", "08:20", "09:20"):
        assert clock in text
    assert "level and firm ground that is clear overhead" in text


def test_a_sheet_says_once_what_the_access_card_leaves_open():
    """Property: what is settled is not said, nor what concerns another truck."""
    words = {
        "height": (LineState.OK, "is 3.0 m high, 4.0 m are clear"),
        "width": (LineState.UNKNOWN, "the place gives no limit on width"),
        "ground": (LineState.UNKNOWN, "stands on ground that is firm only when dry"),
        "slope": (LineState.FAILS, "would tip on a slope of 9 %"),
    }
    lines = [
        LineCheck(line=line, state=state, words=text)
        for line, (state, text) in words.items()
    ]
    card = PlaceCheck(place="garden", place_name="Ben's", load_kg=8000, lines=lines)
    check = TruckCheck(
        truck="tipper",
        truck_name="Tipper",
        days=["2026-05-04"],
        payload_kg=8000,
        gross_kg=None,
        rule="as given",
        binds="payload",
        source="the owner",
        unchecked=[],
        places=[card],
    )
    other = check.model_copy(update={"truck": "flat"})
    own = book(two_loads(MORNING), truck_checks=[check, other])
    text = " ".join(pages(driver_sheets(own)))
    for said in (
        "Look first: ground: the truck stands on ground that is firm only when dry.",
        "Does not pass: slope: the truck would tip on a slope of 9 %.",
        "Look first, for nobody said: width.",
    ):
        assert text.count(said) == 1
    assert "is 3.0 m high" not in text


def test_every_page_is_a4_with_embedded_letters():
    """ISO 216: A4 is 210 mm by 297 mm; a point is 1/72 inch."""
    for body in (driver_sheets(book()), load_tickets(book())):
        for page in PdfReader(io.BytesIO(body), strict=True).pages:
            wide, high = float(page.mediabox.width), float(page.mediabox.height)
            assert wide == pytest.approx(210 / 25.4 * 72, abs=0.1)
            assert high == pytest.approx(297 / 25.4 * 72, abs=0.1)
            resources: Any = page["/Resources"]
            used = [one.get_object() for one in resources["/Font"].values()]
            named = {one["/BaseFont"] for one in used if "/FontDescriptor" in one}
            assert any("FiraSans" in own for own in named)
            for one in used:
                if "/FontDescriptor" in one:
                    assert "/FontFile2" in one["/FontDescriptor"]


def test_the_same_plan_prints_the_same_bytes():
    """Property: sheets depend on the stored plan alone."""
    assert driver_sheets(book()) == driver_sheets(book())
    assert load_tickets(book()) == load_tickets(book())


@pytest.mark.parametrize("dpi", [100, 150, 300])
def test_the_code_of_each_ticket_opens_its_own_receipt(dpi):
    found = codes(load_tickets(book()), dpi)
    assert found == [[f"{RECEIPTS}K7QM8000/"], [f"{RECEIPTS}K7QM7600/"]]


def test_a_long_address_still_scans():
    own = Book(book().plan, STORED, receipts=f"https://{'long.' * 20}example/tickets/")
    assert codes(load_tickets(own), 150)[0] == [
        f"https://{'long.' * 20}example/tickets/K7QM8000/"
    ]


def test_a_ticket_has_what_papers_ask_for_and_claims_to_be_none():
    """The fields are those of reg. 35 of SI 2011/988 (legislation.gov.uk)."""
    first, second = pages(load_tickets(book()))
    for words in (
        "Subsoil, 8.00 t",
        "5.7 m³ loose",
        "Load 07:20: Ada's pit",
        "Tip 07:40: Ben's garden",
        "K7QM8000",
        "Description",
        "Net (t)",
        "container",
        "Date and time of transfer",
        "Place of transfer",
        "Capacity",
        "Carrier's registration",
        "is not such a paper by itself: local law decides",
    ):
        assert words in first
    assert first.count("Signature") == 3
    assert first.count("Name and address") == 3
    assert "Subsoil, 7.60 t" in second


def test_without_codes_a_ticket_says_that_there_is_no_page():
    body = load_tickets(book(two_loads(MORNING, codes=False)))
    assert codes(body, 150) == [[], []]
    assert all("no receipt pages" in own for own in pages(body))


def test_tickets_of_what_rides_together_name_their_own_pickup():
    first, second = pages(load_tickets(book(milk_run(MORNING))))
    assert "Straw, 0.90 t" in first
    assert "Load 07:20: Eve's farm" in first
    assert "Tip 08:20: Ben's garden" in first
    assert "Straw, 0.30 t" in second
    assert "Tip 08:00: Ben's garden" in second


def test_strange_names_are_printed_as_far_as_there_are_letters():
    for body in (driver_sheets(strange_book()), load_tickets(strange_book())):
        text = pages(body)[0]
        assert "Grüße, „Łukasz“; \\ <&>" in text
        assert LOST_NOTE in text


@pytest.mark.parametrize(
    ("given", "printed", "lost"),
    [
        ("Ελλάδα, Україна, Đặng", "Ελλάδα, Україна, Đặng", False),
        ("farm 🌻", "farm ", False),
        ("\uff21\uff22", "AB", False),
        ("e\u0301", "é", False),
        ("土", "?", True),
    ],
)
def test_letters_fall_back_as_the_module_says(given, printed, lost):
    assert printable(given) == (printed, lost)


def test_one_shift_or_all_are_printed_and_none_is_said():
    own = book(two_loads(MORNING), milk_run(MORNING))
    one = " ".join(pages(driver_sheets(own, [2])))
    assert "Flat bed" in one
    assert "Tipper" not in one
    assert len(pages(load_tickets(own))) == 4
    empty = Book(plan([]), STORED)
    assert "No truck drives in this plan." in pages(driver_sheets(empty))[0]
    assert "No load is carried." in pages(load_tickets(empty))[0]
    for make in (driver_sheets, load_tickets):
        with pytest.raises(Refused) as refused:
            make(own, [3])
        assert refused.value.problems[0].code == "unknown_shift"


def test_a_shift_past_midnight_names_the_other_day():
    text = " ".join(pages(driver_sheets(book(two_loads(MORNING.replace(hour=23))))))
    assert "23:00 to 01:20 (Tue)" in text


def test_nothing_is_printed_outside_the_page_or_over_the_foot():
    """Common practice: printers leave 5 mm at least; here the margin is 15 mm."""
    long = "Far-away-yard-" * 12
    places = [place(key, name=long) for key in ("depot", "pit", "farm", "garden")]
    base = book(two_loads(MORNING, truck_name=long))
    own = Book(base.plan.model_copy(update={"places": places}), STORED)
    for body in (driver_sheets(own), load_tickets(own)):
        document = pypdfium2.PdfDocument(body)
        for page in document:
            picture = page.render(scale=2).to_pil().convert("L")
            wide, high = picture.size
            edge = int(10 / 25.4 * 144)
            for box in (
                (0, 0, edge, high),
                (wide - edge, 0, wide, high),
                (0, high - int(5 / 25.4 * 144), wide, high),
            ):
                assert picture.crop(box).getextrema() == (255, 255)
        document.close()


@pytest.mark.parametrize(
    "spots",
    [
        {"depot": (3.0, 46.0), "pit": (3.0, 46.0), "garden": (3.0, 46.0)},
        {"depot": (3.0, 46.0), "pit": (3.0, 46.5), "garden": (3.0, 46.1)},
        {"depot": (3.0, 46.0), "pit": (4.0, 46.0), "garden": (3.1, 46.0)},
        {"depot": (179.9, -16.0), "pit": (-179.9, -16.1), "garden": (179.8, -16.05)},
    ],
    ids=["one spot", "a meridian", "a parallel", "the 180th meridian"],
)
def test_the_map_stays_in_its_box_and_to_scale(spots):
    """Property; a degree of latitude is 111.2 km on the sphere that the map draws."""
    places = [place(key, lon=lon, lat=lat) for key, (lon, lat) in spots.items()]
    own = Book(plan([two_loads(MORNING)], places=places), STORED)
    near = spots["depot"][0]
    lines = [
        unrolled(halt.way, near) for halt in halts(own, own.plan.shifts[0]) if halt.way
    ]
    shown = frame(lines, 40, 100, 500, 300)
    for lon, lat in (point for line in lines for point in line):
        x, y = shown.put(lon, lat)
        assert 40 + PAD - 1e-6 <= x <= 540 - PAD + 1e-6
        assert HIGH - 400 + PAD - 1e-6 <= y <= HIGH - 100 - PAD + 1e-6
    (_, low), (_, high) = shown.put(near, 0.0), shown.put(near, 1.0)
    assert (high - low) / shown.points_per_m == pytest.approx(111_195, rel=1e-4)
    text = " ".join(pages(driver_sheets(own)))
    assert all(
        f"{letter} {own.name}" in text
        for letter, own in zip("ABC", places, strict=True)
    )
