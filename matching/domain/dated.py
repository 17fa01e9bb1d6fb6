"""Builds on the days of a plan: when trucks may come, and what each lift wants in them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from logistics.domain.calendar import windows
from matching.domain.builds import Build
from matching.domain.lifts.batches import Gate, apart, batches, with_windows


def dated(build: Build, gate: Gate, days: Sequence[date]) -> Build:
    """The build with its windows on these days, in order and at least one, and with its
    dated needs if its calendar wants them by lift."""
    own, schedule = build.scheduled, build.schedule
    if own is None or schedule is None:
        open_at = windows(gate.hours, days, gate.zone, first=gate.first, last=gate.last)
        return replace(build, windows=open_at)
    build = replace(build, windows=apart(own, schedule, gate, days))
    if not schedule.by_lift:
        return build
    return replace(
        build,
        batches=tuple(
            with_windows(batch, own, schedule, gate, days) for batch in batches(own)
        ),
    )
