"""Mix design: what to order of soils and sands, and how to mix it."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.mix_answers import MixAnswer
from api.documents.mixes import MixQuestionDoc
from api.documents.reading_mixes import mix_of
from api.rest.door import Door, read_body
from api.rest.schema import described


class MixDesigns(Door):
    """Answers that are not stored."""

    @described("design_mix", body=MixQuestionDoc, answers={200: MixAnswer})
    def post(self, request: Request) -> Response:
        """Say what to order and how to mix it; nothing is stored."""
        answer = mix_of(read_body(request, MixQuestionDoc))
        return Response(answer.model_dump(mode="json"))
