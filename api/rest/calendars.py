"""Calendars of lifts: of walls that are not stored, and of stored builds."""

from __future__ import annotations

from rest_framework.request import Request
from rest_framework.response import Response

from api.documents.calendar_answers import (
    CalendarAnswer,
    CalendarIn,
    asked_calendar,
    calendar_answer,
)
from api.documents.calendars import CalendarDoc
from api.documents.drafts import calendar_draft
from api.documents.reading_calendars import calendar_fields
from api.rest.door import Door, read_body
from api.rest.schema import described
from logistics.domain.errors import refuse
from matching.selectors.builds import get_build
from matching.services.builds import keep_calendar


class Calendars(Door):
    """The lifts of walls."""

    @described("reckon_calendar", body=CalendarIn, answers={200: CalendarAnswer})
    def post(self, request: Request) -> Response:
        """Raise walls on the calendar: lifts, dated needs and room; nothing is stored."""
        answer = asked_calendar(read_body(request, CalendarIn))
        return Response(answer.model_dump(mode="json"))


class BuildCalendar(Door):
    """The calendar of a build."""

    @described("read_build_calendar", answers={200: CalendarAnswer})
    def get(self, request: Request, build_id: int) -> Response:  # noqa: ARG002
        """Read the lifts of a build that are left, and what they want when."""
        return _answer(build_id)

    @described("keep_build_calendar", body=CalendarDoc, answers={200: CalendarAnswer})
    def put(self, request: Request, build_id: int) -> Response:
        """Give a build this calendar, with all that was built and received so far."""
        schedule = calendar_draft(read_body(request, CalendarDoc))
        with calendar_fields():
            keep_calendar(build_id=build_id, schedule=schedule)
        return _answer(build_id)


def _answer(build_id: int) -> Response:
    answer = calendar_answer(get_build(build_id).build)
    if answer is None:
        raise refuse(
            "unknown_calendar",
            field="calendar",
            given=build_id,
            message="this build has no calendar",
            remedy="Put one here, or send its walls to /api/v1/calendars/.",
        )
    return Response(answer.model_dump(mode="json"))
