"""What all answers have in common: ranges rounded for reading, and reasons."""

from __future__ import annotations

from collections.abc import Iterable

from api.documents.plan_models import RangeAnswer, ReasonAnswer
from logistics.domain.quantities import Spread
from matching.domain.verdicts import Reason


def ranged(spread: Spread, digits: int) -> RangeAnswer:
    """A range, rounded."""
    return RangeAnswer(
        low=round(spread.low, digits),
        likely=round(spread.likely, digits),
        high=round(spread.high, digits),
    )


def percents(share: Spread, digits: int = 1) -> RangeAnswer:
    """A range of shares (0 to 1) in percent."""
    hundred = Spread(share.low * 100, share.likely * 100, share.high * 100)
    return ranged(hundred, digits)


def reason_answer(own: Reason) -> ReasonAnswer:
    """A reason or caution of a verdict as a document."""
    return ReasonAnswer(
        code=own.code, found=own.found, wanted=own.wanted, text=own.text
    )


def reason_answers(reasons: Iterable[Reason]) -> list[ReasonAnswer]:
    """Reasons or cautions of a verdict as documents."""
    return [reason_answer(own) for own in reasons]
