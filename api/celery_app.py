"""The Celery application: in-process by default, on Redis when REDIS_URL is set."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "api.settings")

app = Celery("marlpit")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
