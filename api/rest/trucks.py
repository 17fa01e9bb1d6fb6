"""Trucks: list and add."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.drafts import truck_draft
from api.documents.rest import PageQuery, TruckIn
from api.documents.truck_answers import TruckAnswer, truck_answer
from api.rest.door import Door, page_answer, read_body, read_query
from api.rest.schema import TruckPage, described
from logistics.selectors import list_trucks, truck_page
from logistics.services.places import create_truck


class TruckList(Door):
    """All trucks."""

    @described("list_trucks", query=PageQuery, answers={200: TruckPage})
    def get(self, request: Request) -> Response:
        """List trucks."""
        query = read_query(request, PageQuery)
        trucks, count = truck_page(offset=query.offset, limit=query.page_size)
        return page_answer(request, query, [truck_answer(own) for own in trucks], count)

    @described("add_truck", body=TruckIn, answers={201: TruckAnswer})
    def post(self, request: Request) -> Response:
        """Add a truck with the place where its shifts start."""
        draft = truck_draft(read_body(request, TruckIn))
        truck_id = create_truck(draft=draft, roads=deployment.roads())
        (stored,) = list_trucks([truck_id])
        return Response(truck_answer(stored).model_dump(mode="json"), status=201)
