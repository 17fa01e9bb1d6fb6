"""From judgements on straw to their documents."""

from __future__ import annotations

from datetime import date

import pytest

from api.documents.lots_document import deliver_on


@pytest.mark.parametrize(
    ("needed", "comes"),
    [
        (date(2027, 5, 10), date(2027, 5, 7)),
        (date(2027, 5, 9), date(2027, 5, 7)),
        (date(2027, 5, 11), date(2027, 5, 10)),
        (date(2027, 5, 8), date(2027, 5, 7)),
    ],
)
def test_straw_comes_on_the_last_weekday_before_it_is_mixed_in(needed, comes):
    """By the calendar: 10 May 2027 is a Monday, so Friday the 7th. Deliveries on weekdays
    and just in time: common practice, no source."""
    assert deliver_on(needed) == comes
