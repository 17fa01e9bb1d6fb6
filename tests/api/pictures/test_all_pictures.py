"""What holds for every picture, whatever it shows."""

from __future__ import annotations

import re
from itertools import product

import pytest
from django.template import Context, Template

from api.pictures.drawing import (
    Frame,
    Size,
    Table,
    both,
    shortened,
    text_width,
    wrapped,
)
from api.pictures.looks import COLOURS, LOOKS, PATTERNS
from api.pictures.range_bar import Asked, range_bar
from api.pictures.rendering import svg
from logistics.domain.quantities import Spread
from tests.api.pictures.drawn import (
    CASES,
    HOSTILE,
    NS,
    SIZES,
    marks,
    outside,
    told,
    tree,
)

EVERY = pytest.mark.parametrize(("name", "size"), tuple(product(CASES, SIZES)))


def figures(text: str) -> set[str]:
    """Figures with a decimal in a text."""
    return set(re.findall(r"\d+\.\d+", text))


@EVERY
def test_each_has_a_role_a_title_and_a_description(name, size):
    """SVG-AAM 1.0: aria-labelledby names the elements that label an image."""
    root = tree(CASES[name](size))
    assert root.tag == f"{NS}svg"
    assert root.get("role") == "img"
    ids = {own.get("id"): own for own in root.iter() if own.get("id")}
    labels = root.get("aria-labelledby", "").split()
    assert [ids[own].tag for own in labels] == [f"{NS}title", f"{NS}desc"]
    assert all(ids[own].text for own in labels)


@EVERY
def test_nothing_in_it_is_refused_by_a_strict_content_security_policy(name, size):
    """CSP Level 3: no script, style element, style attribute, handler or foreign address."""
    for own in tree(CASES[name](size)).iter():
        assert own.tag.removeprefix(NS) not in {"script", "style", "foreignObject", "a"}
        for attribute, value in own.attrib.items():
            assert attribute != "style"
            assert not attribute.lower().startswith("on")
            assert "href" not in attribute
            assert "url(" not in value or value.startswith("url(#")


@EVERY
def test_hostile_names_stay_text(name, size):
    """Property: markup in a name comes out as the same letters, not as markup."""
    picture = CASES[name](size)
    assert "<script" not in svg(picture)
    if "script" in told(picture):
        words = " ".join(tree(picture).itertext())
        assert HOSTILE in words


@EVERY
def test_every_pattern_that_it_fills_with_is_defined(name, size):
    """By definition of url(#id); ids hold the picture's key, so that pages can hold many."""
    text = svg(CASES[name](size))
    ids = set(re.findall(r'id="([^"]+)"', text))
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= ids
    key = CASES[name](size).frame.key
    assert all(own.startswith(f"{key}-") for own in ids)


@EVERY
def test_every_mark_lies_within_the_drawing(name, size):
    """Property."""
    assert outside(CASES[name](size)) == []


@EVERY
def test_figures_in_the_drawing_are_in_the_text_too(name, size):
    """The text alternative serves an equivalent purpose (WCAG 2.2, 1.1.1)."""
    picture = CASES[name](size)
    drawn = " ".join(own.text for own in marks(picture) if hasattr(own, "text"))
    # Lengths between openings follow from those in the table.
    chain = {"0.90", "1.20", "3.90"} if name == "elevation" else set()
    if name == "curve":
        chain = figures("0.15 1.18 9.5 2.36")
    assert figures(drawn) - figures(told(picture)) <= chain


@EVERY
def test_the_same_picture_is_the_same_text(name, size):
    """Property."""
    assert svg(CASES[name](size)) == svg(CASES[name](size))


def test_colours_stand_in_the_drawing_so_that_it_can_stand_alone():
    """By definition: no stylesheet, yet ink, paper and patterns."""
    root = tree(CASES["curve"](Size.WIDE))
    assert root.get("color", "").startswith("#")
    groups = root.findall(f"{NS}g")
    assert all(own.get("fill") for own in groups)


def test_looks_name_only_colours_and_patterns_that_exist():
    for look in LOOKS.values():
        assert {look.fill, look.stroke} <= {"", *COLOURS}
        assert look.pattern in {"", *PATTERNS}


def test_a_page_holds_both_sizes_and_the_figures():
    pair = both(CASES["range"])
    page = Template("{% load pictures %}{% figure pic %}").render(
        Context({"pic": pair})
    )
    assert page.count("<svg") == 2
    assert "pic-wide" in page
    assert "pic-narrow" in page
    assert "<script" not in page
    assert "<caption>" in page
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_a_key_that_is_no_id_is_refused():
    """A key comes from code, never from users: a ValueError, not a Refused."""
    with pytest.raises(ValueError, match="key"):
        Frame('a"b', 1, 1, "t", "d", Table("c", (), ()))


def test_long_words_are_cut_and_long_texts_wrapped():
    """Property: every line fits."""
    lines = wrapped("some words and an unreasonablylongwordthatcannotbewrapped", 100)
    assert len(lines) > 2
    assert all(text_width(own) <= 100 for own in lines)
    assert shortened("abc", 100) == "abc"
    assert shortened("abcdefgh", 40).endswith("…")


def test_characters_that_xml_cannot_hold_are_left_out():
    """XML 1.0, section 2.2: no control characters but tab and line ends."""
    drawn = range_bar(Spread(1, 2, 3), Asked("Cl\x00a\x0by", "%", 1, 2))
    assert "Clay" in " ".join(tree(drawn).itertext())
