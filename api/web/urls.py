"""Addresses of the pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import path

from api.web import builds, maps, offers, plans


def health(_request: HttpRequest) -> HttpResponse:
    """Answer that the process is alive."""
    return HttpResponse("ok\n", content_type="text/plain")


urlpatterns = [
    path("healthz", health, name="health"),
    path("", offers.offers, name="offers"),
    path("roads.geojson", maps.roads_view, name="roads"),
    path("builds/", builds.builds, name="builds"),
    path("builds/<int:build_id>/", builds.build, name="build"),
    path("builds/<int:build_id>/plan/", builds.plan_build, name="build-plan"),
    path("plans/", plans.plans, name="plans"),
    path("plans/<uuid:public_id>/", plans.plan, name="plan"),
    path("plans/<uuid:public_id>/progress.json", plans.progress, name="plan-progress"),
    path("plans/<uuid:public_id>/cancel/", plans.cancel, name="plan-cancel"),
    path("plans/<uuid:public_id>/routes.geojson", plans.routes, name="plan-routes"),
]
