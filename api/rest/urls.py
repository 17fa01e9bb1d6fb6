"""Addresses of the REST interface. All of them end with a slash."""

from __future__ import annotations

from django.urls import path, re_path
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerView
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.builds import BuildDetail, BuildList, NeedMatches, NeedMixDesign
from api.rest.calendars import BuildCalendar, Calendars
from api.rest.door import Door
from api.rest.evidence import OfferTests, SandTests, SoilTests, StrawTests
from api.rest.exports import PlanExport, PlanExports
from api.rest.mixes import MixDesigns
from api.rest.offers import OfferDetail, OfferList
from api.rest.plans import PlanDetail, PlanList
from api.rest.replans import PlanReplans
from api.rest.shares import PlanShares
from api.rest.take_offs import TakeOffs
from api.rest.tickets import TicketDetail
from api.rest.trucks import TruckList


@extend_schema(exclude=True)
class Nowhere(Door):
    """Everything else, so that a wrong address is answered like any wrong input."""

    def initial(self, request: Request, *_args: object, **_kwargs: object) -> None:
        """Refuse, whatever the method."""
        raise NotFound(f"there is nothing at {request.path}"[:200])

    def get(self, request: Request) -> Response:
        """Never reached: `initial` refuses."""
        raise NotFound(request.path)


urlpatterns = [
    path("offers/", OfferList.as_view(), name="rest-offers"),
    path("offers/<int:offer_id>/", OfferDetail.as_view(), name="rest-offer"),
    path("offers/<int:offer_id>/tests/", OfferTests.as_view(), name="rest-offer-tests"),
    path("soil-tests/", SoilTests.as_view(), name="rest-soil-tests"),
    path("sand-tests/", SandTests.as_view(), name="rest-sand-tests"),
    path("straw-tests/", StrawTests.as_view(), name="rest-straw-tests"),
    path("builds/", BuildList.as_view(), name="rest-builds"),
    path("builds/<int:build_id>/", BuildDetail.as_view(), name="rest-build"),
    path(
        "builds/<int:build_id>/calendar/",
        BuildCalendar.as_view(),
        name="rest-build-calendar",
    ),
    path("take-offs/", TakeOffs.as_view(), name="rest-take-offs"),
    path("calendars/", Calendars.as_view(), name="rest-calendars"),
    path("needs/<int:need_id>/matches/", NeedMatches.as_view(), name="rest-matches"),
    path("needs/<int:need_id>/mix/", NeedMixDesign.as_view(), name="rest-need-mix"),
    path("mixes/", MixDesigns.as_view(), name="rest-mixes"),
    path("trucks/", TruckList.as_view(), name="rest-trucks"),
    path("plans/", PlanList.as_view(), name="rest-plans"),
    path("plans/<uuid:public_id>/", PlanDetail.as_view(), name="rest-plan"),
    path(
        "plans/<uuid:public_id>/exports/",
        PlanExports.as_view(),
        name="rest-plan-exports",
    ),
    path(
        "plans/<uuid:public_id>/exports/<slug:kind>/",
        PlanExport.as_view(),
        name="rest-plan-export",
    ),
    path(
        "plans/<uuid:public_id>/shares/",
        PlanShares.as_view(),
        name="rest-plan-shares",
    ),
    path(
        "plans/<uuid:public_id>/replans/",
        PlanReplans.as_view(),
        name="rest-plan-replans",
    ),
    path("tickets/<slug:code>/", TicketDetail.as_view(), name="rest-ticket"),
    path("schema/", SpectacularAPIView.as_view(), name="rest-schema"),
    path(
        "docs/",
        SpectacularSwaggerView.as_view(url_name="rest-schema"),
        name="rest-docs",
    ),
    re_path(r"", Nowhere.as_view()),
]
