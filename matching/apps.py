"""Tells Django of matching."""

from __future__ import annotations

from django.apps import AppConfig


class MatchingConfig(AppConfig):
    name = "matching"
