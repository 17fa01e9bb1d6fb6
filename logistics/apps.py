"""Tells Django of logistics."""

from __future__ import annotations

from django.apps import AppConfig


class LogisticsConfig(AppConfig):
    name = "logistics"
