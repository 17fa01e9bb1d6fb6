"""Text that is cut to so many lines says so."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from api.exports.fonts import width
from api.exports.paper import BODY, Paper


@pytest.mark.parametrize("text", ["Far away " * 9, "Far-away-" * 9, "m" * 80])
@pytest.mark.parametrize("most", [1, 2])
def test_what_is_cut_ends_with_an_ellipsis_inside_its_room(text, most):
    """Property, and read back by pypdf."""
    paper = Paper("Title", "")
    paper.section("")
    paper.paragraph(text, BODY, room=120, most=most)
    (page,) = PdfReader(io.BytesIO(paper.render())).pages
    lines = [own for own in page.extract_text().split("\n") if "Page" not in own]
    shown = [own for own in lines if own.strip()]
    assert len(shown) == most
    assert shown[-1].endswith("…")
    assert all(width(own, BODY) <= 120 for own in shown)


def test_what_fits_is_left_whole():
    paper = Paper("Title", "")
    paper.section("")
    paper.paragraph("Far away", BODY, room=120, most=1)
    (page,) = PdfReader(io.BytesIO(paper.render())).pages
    assert "Far away" in page.extract_text()
    assert "…" not in page.extract_text()
