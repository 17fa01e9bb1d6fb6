"""The map of a sheet: what is drawn of ways that are driven more than once."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from api.exports.book import Line
from api.exports.route_map import once_each

A, B, C, D = (3.0, 46.0), (3.1, 46.0), (3.2, 46.0), (3.2, 46.1)

ways = st.lists(
    st.tuples(
        st.lists(st.sampled_from([A, B, C, D]), min_size=2, max_size=6).map(tuple),
        st.booleans(),
    ),
    max_size=5,
)


def pieces(line: Line) -> list[frozenset[tuple[float, float]]]:
    return [frozenset(own) for own in pairwise(line)]


def test_a_way_back_along_the_way_out_is_drawn_once():
    """Hand-worked: of D, C, B, A only D to C is new after A, B, C."""
    out, home = ((A, B, C), False), ((D, C, B, A), False)
    assert once_each([out, home]) == [out, ((D, C), False)]


def test_an_empty_way_leaves_out_what_is_drawn_loaded():
    assert once_each([((B, C), True), ((A, B, C, D), False)]) == [
        ((B, C), True),
        ((A, B), False),
        ((C, D), False),
    ]


@given(ways)
def test_every_piece_is_drawn_exactly_once_as_its_first_way_is(given_ways):
    """Property."""
    first: dict[frozenset[tuple[float, float]], bool] = {}
    for line, loaded in given_ways:
        for piece in pieces(line):
            first.setdefault(piece, loaded)
    drawn = [
        (piece, loaded)
        for line, loaded in once_each(given_ways)
        for piece in pieces(line)
    ]
    assert len(drawn) == len(first)
    assert dict(drawn) == first
