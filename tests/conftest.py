"""What holds for all tests: jobs in this process, no roads but those a test imports."""

from __future__ import annotations

import os
from pathlib import Path

import hypothesis
import pytest
from django.conf import settings

from api.celery_app import app

# No deadlines: a busy machine is not a fault.
hypothesis.settings.register_profile("here", deadline=None)
hypothesis.settings.register_profile("ci", derandomize=True, deadline=None)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "here")


def pytest_runtest_setup(item):
    if item.get_closest_marker("redis") and not os.environ.get("REDIS_URL"):
        if os.environ.get("CI"):
            pytest.fail("REDIS_URL is not set, and under CI nothing may be left out")
        pytest.skip("needs a Redis server: set REDIS_URL")


@pytest.fixture(scope="session", autouse=True)
def _static_files():
    """The server of static files warns when nothing was collected yet."""
    Path(settings.STATIC_ROOT).mkdir(exist_ok=True)


@pytest.fixture(autouse=True)
def _jobs_here(request, settings):
    """Jobs run where they are asked for, except in the tests of a real worker."""
    settings.MARLPIT_JOB_THREAD = False
    before = app.conf.task_always_eager
    app.conf.task_always_eager = request.node.get_closest_marker("redis") is None
    yield
    app.conf.task_always_eager = before


@pytest.fixture(autouse=True)
def _no_roads(settings, tmp_path):
    """A network imported on this machine must not change what tests find."""
    settings.MARLPIT_NETWORK_ROOT = tmp_path / "networks"
