"""How marks look: presentation attributes, so that a picture can stand alone, and classes
through which pictures.css gives the page's own colours.

Patterns and line styles carry the meaning; colour only helps. Lines and patterns take the
colour of the text around them, so that they show on light and dark ground alike.
"""

from __future__ import annotations

from dataclasses import dataclass

from api.pictures.drawing import SMALL, TEXT

INK = "currentColor"
INK_ALONE = "#2a211a"

# Colours by name as on light paper; in a page the class of the same name decides.
COLOURS: dict[str, str] = {
    "ink": INK,
    "paper": "#fffdf9",
    "muted": "#5b4f43",
    "line": "#cdbfa6",
    "clay": "#8c3b1b",
    "soil": "#a9693d",
    "soil2": "#7c5a3c",
    "sand": "#e0bd6d",
    "straw": "#e9d06c",
    "water": "#7fa9bf",
    "moss": "#5d7a45",
    "stone": "#9a948a",
}


@dataclass(frozen=True, slots=True)
class Look:
    """Fill and stroke are names of COLOURS; `pattern` names one that fills instead."""

    fill: str = ""
    stroke: str = ""
    width: float = 1.0
    dash: str = ""
    pattern: str = ""
    opacity: float = 1.0
    text: float = 0.0
    bold: bool = False
    round: bool = False


def _text(
    size: float, *, fill: str = "ink", bold: bool = False, halo: bool = True
) -> Look:
    stroke, width = ("paper", 3.0) if halo else ("", 0.0)
    return Look(fill=fill, stroke=stroke, width=width, text=size, bold=bold)


LOOKS: dict[str, Look] = {
    "text": _text(TEXT),
    "strong": _text(TEXT, bold=True),
    "small": _text(SMALL),
    "muted": _text(SMALL, fill="muted"),
    "on-dark": _text(SMALL, fill="paper", bold=True, halo=False),
    "grid": Look(stroke="line"),
    "axis": Look(stroke="ink", width=1.2),
    "edge": Look(stroke="ink", width=1.6),
    "class-edge": Look(stroke="muted", width=0.8),
    "ground": Look(fill="paper", stroke="ink", width=1.2),
    "blank": Look(fill="paper"),
    "opening": Look(fill="paper", stroke="ink", width=1.2),
    "fraction": Look(stroke="ink", width=0.8),
    "band": Look(pattern="band", stroke="moss", width=1.4),
    "region": Look(pattern="region", stroke="ink", width=1.6, dash="5 3"),
    "curve": Look(stroke="clay", width=3.0, round=True),
    "drop": Look(stroke="ink", width=1.0, dash="2 3"),
    "add": Look(stroke="ink", width=1.8, dash="7 4"),
    "point": Look(fill="clay", stroke="paper", width=1.5),
    "open-point": Look(fill="paper", stroke="clay", width=2.5),
    "recipe": Look(fill="ink", stroke="paper", width=1.5),
    "tag": Look(fill="ink", stroke="paper", width=1.2),
    "whisker": Look(stroke="ink", width=1.8),
    "dimension": Look(stroke="muted", width=1.0),
    "lift": Look(stroke="ink", width=1.0, dash="6 3"),
    "turn": Look(stroke="ink", width=1.0, dash="1 4", round=True),
    "limit": Look(stroke="ink", width=1.8, dash="9 4"),
    "over": Look(pattern="over", stroke="ink", width=1.0),
    "step": Look(stroke="clay", width=2.2),
    "stock": Look(fill="sand", opacity=0.35),
    "work": Look(fill="ink", stroke="ink", width=0.8),
    "drying": Look(pattern="drying", stroke="ink", width=1.2),
    "wall": Look(pattern="soil", stroke="ink", width=1.6),
    "wall-inner": Look(pattern="region", stroke="ink", width=1.2),
    "wall-bench": Look(pattern="band", stroke="ink", width=1.2),
    "wall-loose": Look(pattern="soil", stroke="ink", width=1.4, dash="5 3"),
    "face": Look(pattern="region", stroke="ink", width=1.6),
    "plinth": Look(pattern="stone", stroke="ink", width=1.2),
    "lintel": Look(pattern="wood", stroke="ink", width=1.2),
    "arrow": Look(fill="ink", stroke="ink", width=1.0),
    "soil": Look(pattern="soil", stroke="ink", width=1.2),
    "soil2": Look(pattern="soil2", stroke="ink", width=1.2),
    "soil3": Look(pattern="band", stroke="ink", width=1.2),
    "sand": Look(pattern="sand", stroke="ink", width=1.2),
    "sand2": Look(pattern="sand2", stroke="ink", width=1.2),
    "straw": Look(pattern="straw", stroke="ink", width=1.2),
    "water": Look(pattern="water", stroke="ink", width=1.2),
    "haul": Look(pattern="over", stroke="ink", width=1.2),
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """A tile: a tint below lines or discs in ink."""

    side: float
    tint: str
    opacity: float
    d: str = ""
    stroke: float = 0.0
    discs: tuple[tuple[float, float, float], ...] = ()
    turn: float = 0.0


PATTERNS: dict[str, Pattern] = {
    "soil": Pattern(7, "soil", 0.55, "M0 3.5H7", 2.0, turn=45),
    "soil2": Pattern(8, "soil2", 0.55, "M0 4H8M4 0V8", 1.2, turn=45),
    "sand": Pattern(6, "sand", 0.5, discs=((1.5, 1.5, 0.9), (4.5, 4.5, 0.9))),
    "sand2": Pattern(9, "sand", 0.35, discs=((2.2, 2.2, 1.5), (6.7, 6.7, 1.5))),
    "straw": Pattern(10, "straw", 0.55, "M1 3H7M4 8H10", 1.2),
    "water": Pattern(10, "water", 0.45, "M0 5Q2.5 2 5 5T10 5", 1.2),
    "band": Pattern(7, "moss", 0.22, "M0 3.5H7", 1.0, turn=-45),
    "region": Pattern(7, "soil", 0.30, discs=((3.5, 3.5, 0.8),)),
    "drying": Pattern(6, "straw", 0.25, "M3 0V6", 0.9),
    "stone": Pattern(14, "stone", 0.45, "M0 0H14M0 7H14M3 0V7M10 7V14", 0.9),
    "wood": Pattern(8, "soil2", 0.75, "M0 2.5H8M0 6H8", 0.8),
    "over": Pattern(5, "stone", 0.30, "M0 2.5H5M2.5 0V5", 0.9),
}
