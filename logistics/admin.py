"""Rows of the haul engine for administrators. Plans are records: they are read, not edited."""

from __future__ import annotations

from django.contrib import admin
from django.http import HttpRequest

from logistics import models


@admin.register(models.Place)
class PlaceAdmin(admin.ModelAdmin[models.Place]):
    list_display = ["__str__", "lat", "lon"]
    search_fields = ["name"]
    # The cell belongs to the position, and the service alone computes it.
    readonly_fields = ["lat", "lon", "h3_cell"]

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002
        return False


@admin.register(models.Truck)
class TruckAdmin(admin.ModelAdmin[models.Truck]):
    list_display = ["__str__", "body", "payload_kg", "body_m3"]
    search_fields = ["name"]
    raw_id_fields = ["base"]


class ShiftInline(admin.TabularInline[models.Shift, models.Plan]):
    model = models.Shift
    extra = 0
    can_delete = False

    def has_change_permission(
        self,
        request: HttpRequest,  # noqa: ARG002
        obj: models.Plan | None = None,  # noqa: ARG002
    ) -> bool:
        return False

    def has_add_permission(
        self,
        request: HttpRequest,  # noqa: ARG002
        obj: models.Plan | None = None,  # noqa: ARG002
    ) -> bool:
        return False


@admin.register(models.Plan)
class PlanAdmin(admin.ModelAdmin[models.Plan]):
    list_display = ["__str__", "created_at", "haul_cost", "bound_amount"]
    inlines = [ShiftInline]

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002
        return False

    def has_change_permission(
        self,
        request: HttpRequest,  # noqa: ARG002
        obj: models.Plan | None = None,  # noqa: ARG002
    ) -> bool:
        return False
