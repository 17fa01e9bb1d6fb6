"""What a deal saves its two sides, and the payment that halves it."""

from __future__ import annotations

import pytest

from matching.domain.saving import Saving
from tests.matching.small_documents import (
    build,
    document,
    needing,
    planned,
    soil,
    tipper,
)

TIPPING = {"tipping_minor_per_t": 700, "haulage_minor_per_t": 300}


def saving(price: int, other: int | None = 500) -> Saving | None:
    """10 t of a heap that is a burden, or of another at `other` a tonne as far away."""
    offers = [soil("burden", "pit", 20, price, disposal=TIPPING)]
    if other is not None:
        offers.append(soil("other", "dig", 20, other))
    doc = document(
        {"depot": (0, 0), "pit": (10, 0), "dig": (0, 10), "site": (10, 10)},
        offers=offers,
        builds=[build("hut", "site", needs=[needing("subsoil", 10)])],
        trucks=[tipper()],
    )
    return next(iter(planned(doc).savings), None)


def test_the_gain_is_halved_by_hand():
    """Holder alone: 10 t x 10.00 = 100.00. Builders alone: 10 t x 5.00 = 50.00 more. They
    share 150.00: the holder pays 25.00 and both are 75.00 better off."""
    own = saving(0)
    assert own == Saving(offer=0, avoided=10_000, price=0, worth=5000, payment=2500)
    assert own.gain_each == 7500


@pytest.mark.parametrize("price", [-700, -300, 0, 200, 499])
def test_both_sides_end_up_with_the_same_whatever_price_was_agreed(price):
    """Outside source: Nash's bargaining solution for two with money to move: half each.

    Holder with the deal: gets the price, gives the payment, and tips nothing. Builders:
    the bill without the heap (50.00) less the price, and get the payment.
    """
    own = saving(price)
    assert own is not None
    assert own.payment is not None
    paid = price * 10
    holder = paid - own.payment - (-10_000)
    builders = 5000 - paid + own.payment
    assert holder == builders == own.gain_each == 7500


def test_where_the_builders_cannot_do_without_no_split_is_proposed():
    own = saving(0, other=None)
    assert own is not None
    assert (own.worth, own.payment, own.gain_each) == (None, None, None)


def test_a_heap_dearer_than_the_other_is_still_taken_if_tipping_costs_more():
    """At 8.00 the builders lose 30.00; the holder gains 100.00 + 80.00 and makes it good."""
    own = saving(800)
    assert own is not None
    assert own.worth == -3000
    assert own.payment == (10_000 + 8000 + 3000) // 2
    assert own.gain_each == 7500
