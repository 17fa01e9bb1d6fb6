"""Builds: list, add, read; and the matches of their needs."""

from __future__ import annotations

from datetime import timedelta

from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.drafts import build_draft
from api.documents.market import (
    MatchesAnswer,
    StoredBuildAnswer,
    build_answer,
    matches_answer,
)
from api.documents.need_mixes import NeedMixAnswer, need_mix_answer
from api.documents.rest import BuildIn, MatchQuery, PageQuery
from api.rest.door import Door, created, page_answer, read_body, read_query
from api.rest.schema import BuildPage, described
from matching.domain.requests import PlanRequest
from matching.selectors.builds import get_build, list_builds
from matching.services.builds import create_build
from matching.services.matches import NeedView, view_need

USUAL_DAYS = timedelta(days=13)


class BuildList(Door):
    """All builds."""

    @described("list_builds", query=PageQuery, answers={200: BuildPage})
    def get(self, request: Request) -> Response:
        """List builds, the newest first."""
        query = read_query(request, PageQuery)
        builds, count = list_builds(offset=query.offset, limit=query.page_size)
        return page_answer(request, query, [build_answer(own) for own in builds], count)

    @described("add_build", body=BuildIn, answers={201: StoredBuildAnswer})
    def post(self, request: Request) -> Response:
        """Add a build with its site; its needs are computed from its walls."""
        draft = build_draft(read_body(request, BuildIn))
        build_id = create_build(
            draft=draft, roads=deployment.roads(), at=timezone.now()
        )
        return created(
            build_answer(get_build(build_id)), reverse("rest-build", args=[build_id])
        )


class BuildDetail(Door):
    """One build."""

    @described("read_build", answers={200: StoredBuildAnswer})
    def get(self, request: Request, build_id: int) -> Response:  # noqa: ARG002
        """Read a build with its take-off (low, likely, high) and needs."""
        return Response(build_answer(get_build(build_id)).model_dump(mode="json"))


class NeedMatches(Door):
    """The offers for one need."""

    @described("list_matches", query=MatchQuery, answers={200: MatchesAnswer})
    def get(self, request: Request, need_id: int) -> Response:
        """Rank the offers in reach by what the wall costs with them, with reasons."""
        view = _view(request, need_id)
        return Response(matches_answer(view).model_dump(mode="json"))


class NeedMixDesign(Door):
    """The mix for one need."""

    @described("read_need_mix", query=MatchQuery, answers={200: NeedMixAnswer})
    def get(self, request: Request, need_id: int) -> Response:
        """Design the cheapest mix of the fit offers in reach; nothing is stored."""
        view = _view(request, need_id)
        return Response(need_mix_answer(view).model_dump(mode="json"))


def _view(request: Request, need_id: int) -> NeedView:
    query = read_query(request, MatchQuery)
    first = query.first_day or timezone.localdate()
    asked = PlanRequest(
        build_ids=(),
        first_day=first,
        last_day=query.last_day or first + USUAL_DAYS,
        reach_m=round(query.reach_km * 1000),
    )
    return view_need(
        need_id=need_id,
        request=asked,
        zone=deployment.zone(),
        roads=deployment.roads(),
    )
