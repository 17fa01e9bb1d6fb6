"""The OpenAPI description: complete, without warnings, and true."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.core.management import call_command
from drf_spectacular.drainage import GENERATOR_STATS
from drf_spectacular.generators import SchemaGenerator


@pytest.fixture(scope="module")
def schema():
    GENERATOR_STATS.reset()
    generator = SchemaGenerator()  # type: ignore[no-untyped-call]
    return generator.get_schema(request=None, public=True)  # type: ignore[no-untyped-call]


def test_the_schema_is_valid_and_raises_no_warnings(tmp_path):
    """The validator is the OpenAPI initiative's own JSON schema, shipped with the generator."""
    file = tmp_path / "schema.yml"
    call_command("spectacular", "--validate", "--fail-on-warn", file=str(file))
    assert file.stat().st_size > 10_000


def test_every_address_is_described(schema):
    assert {path.removeprefix("/api/v1") for path in schema["paths"]} == {
        "/offers/",
        "/offers/{offer_id}/",
        "/offers/{offer_id}/tests/",
        "/soil-tests/",
        "/sand-tests/",
        "/straw-tests/",
        "/builds/",
        "/builds/{build_id}/",
        "/mixes/",
        "/builds/{build_id}/calendar/",
        "/take-offs/",
        "/calendars/",
        "/needs/{need_id}/matches/",
        "/needs/{need_id}/mix/",
        "/plans/{public_id}/replans/",
        "/tickets/{code}/",
        "/trucks/",
        "/plans/",
        "/plans/{public_id}/",
        "/plans/{public_id}/exports/",
        "/plans/{public_id}/exports/{kind}/",
        "/plans/{public_id}/shares/",
    }


def test_every_reference_leads_somewhere(schema):
    def references(node: Any) -> Iterator[str]:
        if isinstance(node, dict):
            if "$ref" in node:
                yield node["$ref"]
            for value in node.values():
                yield from references(value)
        elif isinstance(node, list):
            for value in node:
                yield from references(value)

    parts = schema["components"]["schemas"]
    found = {own.rsplit("/", 1)[-1] for own in references(schema)}
    assert found
    assert found <= set(parts)


def test_bodies_say_what_may_be_left_out(schema):
    offer = schema["components"]["schemas"]["OfferIn"]
    assert set(offer["required"]) == {"name", "material", "quantity", "place"}
    truck = schema["components"]["schemas"]["TruckIn"]
    assert "opens" not in truck["required"]


def test_queries_are_described(schema):
    parameters = schema["paths"]["/api/v1/offers/"]["get"]["parameters"]
    assert {own["name"] for own in parameters} == {
        "kind",
        "near",
        "within_km",
        "page",
        "page_size",
    }
    kind = next(own for own in parameters if own["name"] == "kind")
    assert kind["schema"]["enum"] == ["subsoil", "sand", "straw"]


@pytest.mark.django_db
def test_the_schema_and_its_page_are_served(client):
    assert client.get("/api/v1/schema/").status_code == 200
    page = client.get("/api/v1/docs/")
    assert page.status_code == 200
    assert b"http://" not in page.content.replace(b"http://testserver", b"")
    assert b"https://" not in page.content


def test_the_process_says_that_it_is_alive(client):
    assert client.get("/healthz").status_code == 200
