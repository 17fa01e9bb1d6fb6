"""Plans as CSV, read again by the csv module."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from decimal import Decimal

import pytest

from api.exports.book import Book
from api.exports.tables import costs_csv, loads_csv, shifts_csv, stops_csv
from tests.api.exports.plans import (
    MORNING,
    STORED,
    STRANGE,
    book,
    milk_run,
    plan,
    strange_book,
    two_loads,
)

MAKERS = [shifts_csv, stops_csv, loads_csv, costs_csv]


def rows(body: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(body.decode("utf-8"), newline="")))


def test_the_tables_say_what_the_plan_says():
    own = book(two_loads(MORNING), milk_run(MORNING))
    first, second = rows(shifts_csv(own))
    assert first["carried, moist (kg)"] == "15600"
    assert first["cost (EUR)"] == "123.45"
    assert first["leaves"] == "2026-05-04T07:00:00+02:00"
    assert datetime.fromisoformat(first["is back"]) == own.plan.shifts[0].back
    assert second["truck name"] == "Flat bed"
    assert [row["doing"] for row in rows(stops_csv(own))][:5] == [
        "Leave",
        "Load",
        "Tip",
        "Clean the body",
        "Rest",
    ]
    masses = {row["moist (kg)"] for row in rows(loads_csv(own))}
    assert masses == {"8000", "7600", "900", "300"}


def test_the_bill_adds_up_to_the_total():
    """Property: the amounts are exact."""
    own = book()
    amounts = [Decimal(row["amount (EUR)"]) for row in rows(costs_csv(own))]
    assert sum(amounts) == Decimal(own.plan.total_minor) / 100


def test_a_currency_without_decimals_has_none():
    """ISO 4217: the yen has no minor unit."""
    (first, _) = rows(costs_csv(book(two_loads(MORNING), currency="JPY")))
    assert first["amount (JPY)"] == "12345"


@pytest.mark.parametrize("make", MAKERS)
@pytest.mark.parametrize("own", [book(), strange_book(), Book(plan([]), STORED)])
def test_the_form_is_that_of_rfc_4180(make, own):
    """RFC 4180, section 2: CRLF after each row, and as many fields in each."""
    body = make(own)
    assert body.endswith(b"\r\n")
    table = list(csv.reader(io.StringIO(body.decode(), newline=""), strict=True))
    assert len({len(row) for row in table}) == 1
    for line in body.split(b"\r\n")[0:1]:
        assert b"\n" not in line


def test_strange_names_come_through():
    found = {row["place name"] for row in rows(stops_csv(strange_book()))}
    assert found == {STRANGE.replace("\x0b", "")}


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t=", "\r=", "\n=", "\uff1d"])
def test_a_name_that_a_spreadsheet_would_run_is_text(sign):
    """The signs are those of OWASP's page on CSV injection (from memory)."""
    name = f"{sign}HYPERLINK(1)"
    own = book(two_loads(MORNING, truck_name=name))
    for make in (shifts_csv, stops_csv, loads_csv):
        for row in rows(make(own)):
            cell = row["truck name"]
            assert cell.startswith("'")
            assert cell[1:] == name.replace("\r", "\n")


def test_amounts_below_nothing_stay_numbers():
    (_, second) = rows(costs_csv(book()))
    assert second["amount (EUR)"] == "-10.00"
