"""Addresses of the pages."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import path


def health(_request: HttpRequest) -> HttpResponse:
    """Answer that the process is alive."""
    return HttpResponse("ok\n", content_type="text/plain")


urlpatterns = [path("healthz", health, name="health")]
