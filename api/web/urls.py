"""Addresses of the pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import path

from api.web import (
    builds,
    change_page,
    ground,
    judge,
    maps,
    offer_page,
    offers,
    order,
    plans,
    sand_page,
    shares,
    straw_page,
    tickets,
    walls,
)


def health(_request: HttpRequest) -> HttpResponse:
    """Answer that the process is alive."""
    return HttpResponse("ok\n", content_type="text/plain")


urlpatterns = [
    path("healthz", health, name="health"),
    path("", offers.offers, name="offers"),
    path("offers/<int:offer_id>/", offer_page.offer, name="offer"),
    path("offers/<int:offer_id>/tests/", offer_page.offer_tests, name="offer-tests"),
    path(
        "offers/<int:offer_id>/tests/<slug:kind>/",
        offer_page.offer_test,
        name="offer-test",
    ),
    path("judge/", judge.judge, name="judge"),
    path("ground/", ground.ground, name="ground"),
    path("sand/", sand_page.sand, name="sand"),
    path("straw/", straw_page.straw, name="straw"),
    path("mix/", order.mix, name="mix"),
    path("walls/", walls.walls, name="walls"),
    path("roads.geojson", maps.roads_view, name="roads"),
    path("builds/", builds.builds, name="builds"),
    path("builds/<int:build_id>/", builds.build, name="build"),
    path("builds/<int:build_id>/plan/", builds.plan_build, name="build-plan"),
    path("plans/", plans.plans, name="plans"),
    path("plans/<uuid:public_id>/", plans.plan, name="plan"),
    path("plans/<uuid:public_id>/progress.json", plans.progress, name="plan-progress"),
    path("plans/<uuid:public_id>/change/", change_page.change, name="plan-change"),
    path("plans/<uuid:public_id>/cancel/", plans.cancel, name="plan-cancel"),
    path("plans/<uuid:public_id>/shares/", shares.ask, name="plan-shares"),
    path(
        "plans/<uuid:public_id>/shares/progress.json",
        shares.progress,
        name="plan-shares-progress",
    ),
    path("tickets/<slug:code>/", tickets.ticket, name="ticket"),
    path("plans/<uuid:public_id>/routes.geojson", plans.routes, name="plan-routes"),
]
