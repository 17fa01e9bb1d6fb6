"""Tables of the market: accounts, offers, builds with their needs, claims and plan runs."""

from __future__ import annotations

from matching.models.accounts import Account
from matching.models.builds import Build, Need, Wall
from matching.models.living import PlanState, Replan
from matching.models.offers import Offer
from matching.models.runs import Claim, PlanRun
from matching.models.shares import ShareRun

__all__ = [
    "Account",
    "Build",
    "Claim",
    "Need",
    "Offer",
    "PlanRun",
    "PlanState",
    "Replan",
    "ShareRun",
    "Wall",
]
