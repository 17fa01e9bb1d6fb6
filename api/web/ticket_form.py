"""What is asked at the gate, in words for somebody with gloves on, and what was answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from api.documents.problems import problems_of
from api.documents.tickets import ArrivalIn, arrival_of
from api.web.asking import Asked, AskedGroup, Group, Kind, Options, Question
from api.web.typed import Trouble, Typed
from logistics.domain.errors import Problem, Refused
from logistics.domain.living.arrivals import REASON_WORDS, Arrival, Reason

FOUND: Options = (("fine", "Fine"), ("wrong", "Wrong"))
LOOKS = (
    Question("check.look", "Look", kind=Kind.CHOICE, options=FOUND),
    Question("check.smell", "Smell", kind=Kind.CHOICE, options=FOUND),
    Question("check.debris", "Debris", kind=Kind.CHOICE, options=FOUND),
)
ASBESTOS = Question(
    "check.asbestos_suspect", "Could be asbestos: stop, do not tip", kind=Kind.TICK
)
AMOUNTS = (
    Question("moist_kg", "Weighed", kind=Kind.WHOLE, unit="kg"),
    Question("loose_m3", "Or in the body", unit="m³"),
)
REASON = Question(
    "reason",
    "Turned away because",
    kind=Kind.SELECT,
    options=tuple((own.value, words) for own, words in REASON_WORDS.items()),
)
MORE = Group(
    "Vehicle, another time",
    (
        Question("vehicle", "Vehicle", kind=Kind.TEXT),
        Question("day", "Day it came", kind=Kind.DAY, hint="empty: today"),
        Question("time", "Time it came", kind=Kind.TIME, hint="empty: now"),
        Question("given_up", "Turned away: none is wanted instead", kind=Kind.TICK),
    ),
    folded=True,
)


@dataclass(frozen=True, slots=True)
class Gate:
    """The form as it stands on the page."""

    looks: tuple[Asked, ...]
    asbestos: Asked
    amounts: tuple[Asked, ...]
    reason: Asked
    more: tuple[AskedGroup, ...]
    troubles: tuple[Trouble, ...]


@dataclass(frozen=True, slots=True)
class TypedArrival:
    """What was typed: the arrival that it tells of, or what is wrong with it."""

    typed: Typed
    arrival: Arrival | None = None

    @property
    def gate(self) -> Gate:
        """The form with what was typed."""
        own = self.typed
        return Gate(
            looks=own.several(LOOKS),
            asbestos=own.asked(ASBESTOS),
            amounts=own.several(AMOUNTS),
            reason=own.asked(REASON),
            more=own.groups((MORE,)),
            troubles=own.troubles,
        )

    def refused(self, refused: Refused) -> TypedArrival:
        """The same with what was refused, said at its fields."""
        self.typed.blame(_at_the_gate(own) for own in refused.problems)
        return TypedArrival(self.typed)


def fresh() -> TypedArrival:
    """The form at first."""
    return TypedArrival(Typed({}))


def read_arrival(
    given: Mapping[str, str], now: datetime, zone: ZoneInfo
) -> TypedArrival:
    """What was typed and which of the two buttons was pressed, `now` with its zone."""
    own = TypedArrival(Typed(given))
    try:
        document = _document(own.typed, now, zone)
        return TypedArrival(own.typed, arrival_of(document, now))
    except Refused as refused:
        return own.refused(refused)


def _document(typed: Typed, now: datetime, zone: ZoneInfo) -> ArrivalIn:
    accepted = typed.query.get("outcome") == "accepted"
    asked = Group("", (*LOOKS, ASBESTOS, *AMOUNTS, REASON))
    values: dict[str, Any] = typed.values((asked, MORE))
    typed.check()
    moment = _moment(values.pop("day", None), values.pop("time", None), now, zone)
    again = not values.pop("given_up")
    if values["check"]["asbestos_suspect"] and not accepted:
        # Nobody beside such a load should have to look for the line in a list.
        values.setdefault("reason", Reason.SUSPECT_ASBESTOS.value)
    if accepted:
        values.pop("reason", None)
        _check_looked(values["check"])
    told = {"accepted": accepted, "arrived_at": moment, "comes_again": again}
    try:
        # Text of a form, not JSON: a moment is one already.
        return ArrivalIn.model_validate(values | told, strict=False)
    except ValidationError as error:
        raise Refused(*problems_of(error)) from None


def _check_looked(check: Mapping[str, object]) -> None:
    missing = [own for own in LOOKS if own.name.partition(".")[2] not in check]
    if missing and not check["asbestos_suspect"]:
        raise Refused(
            *(
                Problem("missing", own.name, "nothing", "choose one", "")
                for own in missing
            )
        )


def _moment(
    day: str | None, hour: str | None, now: datetime, zone: ZoneInfo
) -> datetime:
    try:
        on = date.fromisoformat(day) if day else now.astimezone(zone).date()
    except ValueError:
        raise _unread("day", day, "Write it like 2027-05-12.") from None
    try:
        at = time.fromisoformat(hour) if hour else now.astimezone(zone).time()
    except ValueError:
        raise _unread("time", hour, "Write it like 14:30.") from None
    return datetime.combine(on, at.replace(tzinfo=None), tzinfo=zone)


def _unread(field: str, given: str | None, remedy: str) -> Refused:
    shown = (given or "")[:40]
    return Refused(
        Problem("not_understood", field, shown, "this is not understood", remedy)
    )


def _at_the_gate(own: Problem) -> Problem:
    """A problem with the field of this form that it is about, and in its words."""
    words = {
        "arrived_at": ("time", own.message, own.remedy),
        "check": (
            "check.look",
            own.message,
            "Turn it away with a reason, or correct the check.",
        ),
    }
    if own.code == "amount_missing":
        remedy = "Give the kg of the weighbridge or the m³ in the body."
        return Problem(own.code, own.field, own.given, own.message, remedy)
    if own.code == "reason_missing":
        return Problem(
            own.code, own.field, own.given, "say why it is turned away", "Choose one."
        )
    field, message, remedy = words.get(own.field, (own.field, own.message, own.remedy))
    return Problem(own.code, field, own.given, message, remedy)
