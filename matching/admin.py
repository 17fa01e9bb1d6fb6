"""Rows of the market for administrators."""

from __future__ import annotations

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest

from matching import models

admin.site.register(models.Account, UserAdmin)


@admin.register(models.Offer)
class OfferAdmin(admin.ModelAdmin[models.Offer]):
    list_display = ["__str__", "kind", "quantity_kg", "reserved_kg"]
    list_filter = ["kind"]
    search_fields = ["name"]
    raw_id_fields = ["place"]
    # Only agreeing a claim may change it, or the heap is promised twice.
    readonly_fields = ["reserved_kg"]


class WallInline(admin.TabularInline[models.Wall, models.Build]):
    model = models.Wall
    extra = 0


class NeedInline(admin.TabularInline[models.Need, models.Build]):
    model = models.Need
    extra = 0


@admin.register(models.Build)
class BuildAdmin(admin.ModelAdmin[models.Build]):
    list_display = ["__str__", "deliver_from", "deliver_until"]
    search_fields = ["name"]
    raw_id_fields = ["place"]
    inlines = [WallInline, NeedInline]


@admin.register(models.PlanRun)
class PlanRunAdmin(admin.ModelAdmin[models.PlanRun]):
    list_display = ["public_id", "status", "progress", "total", "created_at"]
    list_filter = ["status"]

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002
        return False

    def has_change_permission(
        self,
        request: HttpRequest,  # noqa: ARG002
        obj: models.PlanRun | None = None,  # noqa: ARG002
    ) -> bool:
        return False
