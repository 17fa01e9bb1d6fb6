"""Agreeing on claims: the one place where supply is promised."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F

from logistics.domain.errors import refuse
from matching.models import Claim, Offer


@transaction.atomic
def agree_claim(*, claim_id: int, at: datetime) -> None:
    """Set the claimed quantity aside, if that much of the offer is still free.

    However many claims are agreed at the same moment, an offer is never promised beyond
    its quantity: the check and the reservation are one statement. Raises Refused
    "unknown_claim", "claim_not_open" or "offer_exhausted".
    """
    claim = Claim.objects.filter(pk=claim_id).first()
    if claim is None:
        raise refuse(
            "unknown_claim",
            field="claim",
            given=claim_id,
            message="there is no such claim",
            remedy="Read the plan to see its claims.",
        )
    opened = Claim.objects.filter(pk=claim_id, status=Claim.Status.PROPOSED)
    if opened.update(status=Claim.Status.AGREED, agreed_at=at) != 1:
        raise refuse(
            "claim_not_open",
            field="claim",
            given=claim_id,
            message="this claim is agreed already",
            remedy="Nothing is left to do.",
        )
    free = Offer.objects.filter(
        pk=claim.offer_id, quantity_kg__gte=F("reserved_kg") + claim.kg
    )
    if free.update(reserved_kg=F("reserved_kg") + claim.kg) != 1:
        raise refuse(
            "offer_exhausted",
            field="claim",
            given=f"{claim.kg} kg",
            message="less than this is left of the offer",
            remedy="Plan again with what is left.",
        )
