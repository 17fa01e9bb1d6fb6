"""Sound bodies with one strange value somewhere: accepted or refused, never a fault."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.worlds import (
    Body,
    adas_soil,
    bens_build,
    dots_sand,
    eves_straw,
    flat_bed,
    raw,
    row_counts,
)

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

FULL_ACCESS = {
    "max_gross_kg": 26_000,
    "max_height_m": 3.8,
    "max_width_m": 2.6,
    "max_length_m": 9.0,
}
SOUND: list[tuple[str, Body]] = [
    (
        "offers",
        adas_soil(
            available_from="2026-03-01",
            available_until="2026-04-01",
            min_lot={"amount": 1, "unit": "t", "basis": "moist"},
            price={"minor": -200, "per": "m3_loose"},
            part_load={"charge_minor": 100, "below_kg": 500},
            load_minutes=20,
            loading_fee_minor=300,
            whole_loads=True,
            haul_payer="holder",
        ),
    ),
    ("offers", dots_sand()),
    ("offers", eves_straw()),
    (
        "builds",
        bens_build(
            walls=[
                {
                    "length_m": 6,
                    "height_m": 2.4,
                    "thickness_m": 0.5,
                    "openings": [{"width_m": 1, "height_m": 2}],
                }
            ],
            needs=[
                {
                    "key": "plaster",
                    "material": "sand",
                    "quantity": {"amount": 1, "unit": "m3", "state": "loose"},
                }
            ],
            mix={"clay_low_percent": 14, "straw_percent": {"likely": 2}},
            deliver_from="2026-03-01",
            deliver_until="2026-03-09",
            unload_minutes=15,
            storage_m3=30,
        ),
    ),
    ("trucks", flat_bed(tare_kg=4000, height_m=3, width_m=2.5, length_m=8)),
]
for _, _body in SOUND:
    (_body.get("place") or _body["base"])["access"] = FULL_ACCESS

STRANGE: st.SearchStrategy[object] = st.sampled_from(
    [
        *(None, True, "", " ", "x" * 5000, "\u202e", "\u0000", [], {}, [[]], {"": 0}),
        *(0, -1, 1, 2**31, 2**53 + 1, 2**63, 10**40, 0.5, -0.0, 1e-320, 1e308, -1e308),
        *("NaN", "1", "2026-13-01", "0000-01-01", "9999-12-31", "24:00", "subsoil"),
    ]
)


def paths(node: object, before: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Where every value of a body stands, the body's own members first."""
    inside: list[tuple[Any, ...]] = []
    if isinstance(node, dict):
        inside = [own for key in node for own in paths(node[key], (*before, key))]
    elif isinstance(node, list):
        inside = [
            own for at in range(len(node)) for own in paths(node[at], (*before, at))
        ]
    return [before, *inside] if before else inside


def changed(body: Body, path: tuple[Any, ...], value: object) -> Body:
    """The body with another value in one place."""
    fresh = copy.deepcopy(body)
    node: Any = fresh
    for step in path[:-1]:
        node = node[step]
    node[path[-1]] = value
    return fresh


CASES = st.sampled_from(SOUND).flatmap(
    lambda own: st.tuples(
        st.just(own[0]), st.just(own[1]), st.sampled_from(paths(own[1])), STRANGE
    )
)


@pytest.mark.parametrize(("door", "body"), SOUND)
def test_the_bodies_are_sound_before_they_are_changed(
    client: Client, door: str, body: Body
) -> None:
    answer = client.post(f"/api/v1/{door}/", raw(body), content_type="application/json")
    assert answer.status_code == 201, answer.content


@settings(
    max_examples=400,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(case=CASES)
def test_a_strange_value_is_stored_whole_or_refused_whole(
    client: Client, case: tuple[str, Body, tuple[Any, ...], object]
) -> None:
    """Property: 201 and readable again, or 4xx with a remedy and no row."""
    door, body, path, value = case
    before = row_counts()
    answer = client.post(
        f"/api/v1/{door}/",
        raw(changed(body, path, value)),
        content_type="application/json",
    )
    if answer.status_code == 201:
        assert client.get(f"/api/v1/{door}/").status_code == 200
        assert row_counts() != before
    else:
        assert 400 <= answer.status_code < 500
        assert answer.json()["problems"][0]["remedy"]
        assert row_counts() == before
