"""How the world gets in: settings, URLs, REST, pages, commands and the job runner."""

from __future__ import annotations

from api.celery_app import app as celery_app

__all__ = ["celery_app"]
