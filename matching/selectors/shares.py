"""Jobs that share the total of a plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from logistics.domain.errors import Problem
from matching.models import ShareRun


@dataclass(frozen=True, slots=True)
class StoredShares:
    """A job; `document` is None until it is done, `problems` are empty unless it failed."""

    status: str
    problems: tuple[Problem, ...]
    document: dict[str, Any] | None
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None


def find_shares(public_id: UUID) -> StoredShares | None:
    """The job of a plan by the plan's public id, None if nobody asked for one."""
    row = ShareRun.objects.filter(run__public_id=public_id).first()
    if row is None:
        return None
    return StoredShares(
        status=row.status,
        problems=tuple(Problem(**own) for own in row.refusal or ()),
        document=row.document,
        created_at=row.created_at,
        started_at=row.started_at,
        finished_at=row.finished_at,
    )


def waiting_shares(*, lost_before: datetime) -> list[int]:
    """Ids of jobs that nobody works on: queued or started before a moment, not ended."""
    lost = Q(status=ShareRun.Status.RUNNING, started_at__lt=lost_before)
    queued = Q(status=ShareRun.Status.QUEUED, created_at__lt=lost_before)
    rows = ShareRun.objects.filter(lost | queued).order_by("pk")
    return list(rows.values_list("pk", flat=True))
