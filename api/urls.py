"""Which door answers which address."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.rest.urls")),
    path("", include("api.web.urls")),
]
