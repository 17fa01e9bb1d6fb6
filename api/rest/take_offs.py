"""Take-offs of walls that are not stored."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.taken_off import TakeOffIn, TakeOffSheet, take_off_sheet
from api.rest.door import Door, read_body
from api.rest.schema import described


class TakeOffs(Door):
    """What walls swallow."""

    @described("take_off", body=TakeOffIn, answers={200: TakeOffSheet})
    def post(self, request: Request) -> Response:
        """Take off walls: volumes wall by wall, and what they swallow; nothing is stored."""
        sheet = take_off_sheet(read_body(request, TakeOffIn))
        return Response(sheet.model_dump(mode="json"))
