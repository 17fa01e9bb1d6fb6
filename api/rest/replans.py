"""Plans made anew: say what happened, get a plan job that replaces the plan."""

from __future__ import annotations

from uuid import UUID

from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.jobs import JobAnswer, job_answer
from api.documents.replans import ReplanIn, ReplansAnswer, replan_request
from api.rest.door import Door, read_body
from api.rest.schema import described
from matching.selectors.runs import get_run, replans_of


class PlanReplans(Door):
    """The plans that replace one."""

    @described("list_replans", answers={200: ReplansAnswer})
    def get(self, _request: Request, public_id: UUID) -> Response:
        """The plan that replaced this one, if any, and all that were asked for."""
        runs, current = replans_of(public_id)
        answer = ReplansAnswer(
            replaced_by=current, replans=[job_answer(own) for own in runs]
        )
        return Response(answer.model_dump(mode="json"))

    @described("make_plan_anew", body=ReplanIn, answers={202: JobAnswer})
    def post(self, request: Request, public_id: UUID) -> Response:
        """Make the plan anew, changing as little as needed. The job is a plan like any
        other, at the Location; its `replan` tells the difference."""
        doc = read_body(request, ReplanIn)
        asked = replan_request(doc, now=timezone.now())
        new_id = deployment.ask_for_replan(public_id, asked)
        return Response(
            job_answer(get_run(new_id)).model_dump(mode="json"),
            status=202,
            headers={"Location": reverse("rest-plan", args=[new_id])},
        )
