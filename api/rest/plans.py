"""Plans are jobs: ask for one, follow it, read it, give it up."""

from __future__ import annotations

from uuid import UUID

from django.urls import reverse
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.drafts import plan_request
from api.documents.jobs import JobAnswer, PlanJobAnswer, job_answer, plan_job
from api.documents.rest import PageQuery, PlanIn
from api.rest.door import Door, page_answer, read_body, read_query
from api.rest.schema import JobPage, described
from matching.selectors.runs import get_run, list_runs
from matching.services.plans import cancel_plan


class PlanList(Door):
    """All plan jobs."""

    @described("list_plans", query=PageQuery, answers={200: JobPage})
    def get(self, request: Request) -> Response:
        """List plan jobs, the newest first, without their plans."""
        query = read_query(request, PageQuery)
        runs, count = list_runs(offset=query.offset, limit=query.page_size)
        return page_answer(request, query, [job_answer(own) for own in runs], count)

    @described("ask_for_plan", body=PlanIn, answers={202: JobAnswer})
    def post(self, request: Request) -> Response:
        """Ask for a plan. It is made by a job: follow it at the Location."""
        public_id = deployment.ask_for_plan(plan_request(read_body(request, PlanIn)))
        return Response(
            job_answer(get_run(public_id)).model_dump(mode="json"),
            status=202,
            headers={"Location": reverse("rest-plan", args=[public_id])},
        )


class PlanDetail(Door):
    """One plan job."""

    @described("read_plan", answers={200: PlanJobAnswer})
    def get(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Read where the job stands and, once it is done, the plan."""
        return Response(plan_job(get_run(public_id)))

    @described("cancel_plan", answers={204: None})
    def delete(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Give up a job that has not ended."""
        cancel_plan(public_id=public_id, at=timezone.now())
        return Response(status=204)
