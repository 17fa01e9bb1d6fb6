"""The sharing of a plan's total: a job beside the plan."""

from __future__ import annotations

from uuid import UUID

from django.urls import reverse
from rest_framework.request import Request
from rest_framework.response import Response

from api import deployment
from api.documents.share_answers import SharesJobAnswer, shares_job
from api.rest.door import Door
from api.rest.schema import described
from logistics.domain.errors import refuse
from matching.selectors.shares import StoredShares, find_shares


class PlanShares(Door):
    """How the total of a plan is shared among its builds."""

    @described("read_plan_shares", answers={200: SharesJobAnswer})
    def get(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Read where the job stands and, once it is done, the shares."""
        return Response(shares_job(_found(public_id)))

    @described("share_plan", answers={202: SharesJobAnswer})
    def post(self, request: Request, public_id: UUID) -> Response:  # noqa: ARG002
        """Ask for the shares. They are made by a job: follow it at the Location. Asked
        again, the job stays as it is, but a failed one is tried anew."""
        deployment.ask_for_shares(public_id)
        return Response(
            shares_job(_found(public_id)),
            status=202,
            headers={"Location": reverse("rest-plan-shares", args=[public_id])},
        )


def _found(public_id: UUID) -> StoredShares:
    found = find_shares(public_id)
    if found is None:
        raise refuse(
            "plan_not_shared",
            field="plan",
            given=public_id,
            message="nobody has asked for the shares of this plan",
            remedy="POST to this address first.",
        )
    return found
