"""Evidence: tests of soil, sand and straw judged at once, and tests kept with an offer."""

from __future__ import annotations

from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.evidence import OneTest
from api.documents.evidence_answers import (
    OfferTestsAnswer,
    SandTestAnswer,
    SoilTestAnswer,
    StrawTestAnswer,
)
from api.documents.evidence_document import offer_tests_answer, soil_test_answer
from api.documents.lots_document import sand_test_answer, straw_test_answer
from api.documents.questions import SandTestIn, SoilTestIn, StrawTestIn
from api.documents.reading import read_mix
from api.documents.reading_evidence import check_taken, read_test
from api.documents.reading_materials import (
    read_sand,
    read_sieving,
    read_straw,
    read_subsoil,
)
from api.documents.reading_parts import within
from api.rest.door import Door, created, read_body
from api.rest.schema import described
from logistics.domain.errors import refuse
from matching.domain.materials import Subsoil
from matching.selectors.offers import get_offer
from matching.services.offers import add_test


class SoilTests(Door):
    """Judge a soil by its tests."""

    @described("judge_soil", body=SoilTestIn, answers={200: SoilTestAnswer})
    def post(self, request: Request) -> Response:
        """Weigh tests of a soil: its clay with a range, the verdict, what to test next.
        Nothing is stored."""
        doc = read_body(request, SoilTestIn)
        soil = read_subsoil(doc)
        check_taken(soil.tests, timezone.localdate(), field="tests")
        answer = soil_test_answer(soil, read_mix(doc.mix))
        return Response(answer.model_dump(mode="json"))


class SandTests(Door):
    """Judge a sand by its name, grains and sieves."""

    @described("judge_sand", body=SandTestIn, answers={200: SandTestAnswer})
    def post(self, request: Request) -> Response:
        """Judge a sand for large walls: figures of its sieves, limits, verdict. Nothing is
        stored."""
        doc = read_body(request, SandTestIn)
        answer = sand_test_answer(read_sand(doc), read_sieving(doc))
        return Response(answer.model_dump(mode="json"))


class StrawTests(Door):
    """Judge a lot of straw and count its bales."""

    @described("judge_straw", body=StrawTestIn, answers={200: StrawTestAnswer})
    def post(self, request: Request) -> Response:
        """Judge straw for walls, count the bales of a mass, say how to keep them. Nothing
        is stored."""
        doc = read_body(request, StrawTestIn)
        day = doc.needed_on or timezone.localdate()
        straw = read_straw(doc)
        with within("", drop="straw."):
            answer = straw_test_answer(
                straw, doc.straw_kg, doc.needed_on, in_year=day.year
            )
        return Response(answer.model_dump(mode="json"))


class OfferTests(Door):
    """The tests of an offered soil."""

    @described("list_tests", answers={200: OfferTestsAnswer})
    def get(self, request: Request, offer_id: int) -> Response:  # noqa: ARG002
        """List the tests of an offer with what they come to."""
        return Response(_tests(offer_id).model_dump(mode="json"))

    @described("add_test", body=OneTest, answers={201: OfferTestsAnswer})
    def post(self, request: Request, offer_id: int) -> Response:
        """Add a test to an offer of subsoil; the same test sent twice counts once."""
        record = read_test(read_body(request, OneTest).root)
        check_taken([record], timezone.localdate())
        add_test(offer_id=offer_id, test=record)
        return created(_tests(offer_id), reverse("rest-offer-tests", args=[offer_id]))


def _tests(offer_id: int) -> OfferTestsAnswer:
    material = get_offer(offer_id).offer.material
    if not isinstance(material, Subsoil):
        raise refuse(
            "not_a_soil",
            field="offer",
            given=offer_id,
            message="tests of soil belong to offers of subsoil",
            remedy="Read the offer itself for what is known of sand or straw.",
        )
    return offer_tests_answer(offer_id, material)
