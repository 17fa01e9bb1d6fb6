"""The letters of printed sheets: Fira Sans (SIL Open Font License), embedded by need.

It has Latin, Greek and Cyrillic letters. What it lacks is written in its compatible form
if there is one (full-width letters); pictographs are left out, and of other scripts each
letter becomes a question mark: `printable` says when.
"""

from __future__ import annotations

import unicodedata
from functools import cache

import fontpkg_fira_sans
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN, BOLD = "Marl-Medium", "Marl-Bold"
_FILES = {PLAIN: "FiraSans-Medium.ttf", BOLD: "FiraSans-Bold.ttf"}
_DROPPED = frozenset({"So", "Sk", "Cf", "Cc", "Cs", "Co", "Cn", "Mn", "Me"})
LOST = "?"


@cache
def covered() -> frozenset[int]:
    """The characters that both weights have; registers them with the PDF library."""
    found = []
    for name, file in _FILES.items():
        font = TTFont(name, str(fontpkg_fira_sans.ROOT / "files" / file))
        pdfmetrics.registerFont(font)
        found.append(frozenset(font.face.charToGlyph))
    return found[0] & found[1]


def width(text: str, size: float, *, bold: bool = False) -> float:
    """The width of printable text, in points."""
    covered()
    return pdfmetrics.stringWidth(text, BOLD if bold else PLAIN, size)


def printable(text: str) -> tuple[str, bool]:
    """The text in characters that the font has, and whether letters were lost."""
    has = covered()
    kept, lost = [], False
    for own in unicodedata.normalize("NFC", text):
        alike = own if ord(own) in has else unicodedata.normalize("NFKC", own)
        if own in "\n\t" or all(ord(part) in has for part in alike):
            kept.append(" " if own == "\t" else alike)
        elif unicodedata.category(own) not in _DROPPED:
            kept.append(LOST)
            lost = True
    return "".join(kept), lost
