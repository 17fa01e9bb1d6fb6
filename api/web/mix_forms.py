"""Forms for what weighs most and least: trials of the mix and walls, beliefs and maps."""

from __future__ import annotations

from api.web.asking import Group, Kind, Question
from api.web.soil_form import SoilForm
from matching.domain.soil.texture import Texture
from matching.domain.soil.trials import LEAST_STRENGTH_MPA

_PARTS = Question(
    "sand_parts",
    "Sand to one part of this soil",
    unit="parts",
    needed=True,
    hint="0 if no sand was added",
)
_PARTS_BY = Question(
    "parts_by",
    "A part is",
    kind=Kind.CHOICE,
    options=(("loose_volume", "a bucket"), ("dry_mass", "dry weight")),
    usual="loose_volume",
)
_TEXTURES = tuple((own.value, own.words.capitalize()) for own in Texture)

BRICKS = SoilForm(
    "mix_trial",
    "Test bricks or box of the mix",
    "Mix soil, sand and straw as for the wall, mould bricks, dry them, break and drop them.",
    "1 to 4 weeks",
    (
        Group("", (_PARTS, _PARTS_BY)),
        Group(
            "",
            (
                Question(
                    "bricks",
                    "The dry bricks are",
                    kind=Kind.CHOICE,
                    options=(
                        ("strong", "strong"),
                        ("cracked", "cracked"),
                        ("crumbly", "crumbly"),
                    ),
                ),
            ),
        ),
        Group(
            "A box of the same mix, if you made one",
            (
                Question("box_mm", "Length of the box", unit="mm", hint="610 is usual"),
                Question("shrinkage_mm", "It is shorter by", unit="mm"),
                Question("box_cracked", "Cracked across", kind=Kind.YES_NO),
            ),
            folded=True,
        ),
        Group(
            "Crushed in a press",
            (
                Question(
                    "strength_mpa",
                    "Strength",
                    unit="MPa",
                    hint=f"{LEAST_STRENGTH_MPA:g} MPa is asked for",
                ),
                Question("strength_samples", "Pieces crushed", kind=Kind.WHOLE),
            ),
            folded=True,
        ),
    ),
)
WALL = SoilForm(
    "standing_wall",
    "A wall that stands",
    "Somebody built with this very soil: the strongest evidence there is.",
    "ask, and look at it",
    (
        Group("", (_PARTS, _PARTS_BY)),
        Group(
            "",
            (
                Question("years", "It has stood for", unit="years", needed=True),
                Question(
                    "condition",
                    "The wall is",
                    kind=Kind.CHOICE,
                    needed=True,
                    options=(
                        ("sound", "sound"),
                        ("cracked", "cracked"),
                        ("eroded", "eroded"),
                    ),
                ),
            ),
        ),
    ),
)
TICKED = SoilForm(
    "ticked",
    "No test: what I believe",
    "Pick the word that fits. It says little, and the range stays wide.",
    "at once",
    (
        Group(
            "",
            (
                Question(
                    "words",
                    "The soil is",
                    kind=Kind.CHOICE,
                    options=(
                        ("sandy", "sandy"),
                        ("loamy", "loamy"),
                        ("silty", "silty"),
                        ("clayey", "clayey"),
                        ("heavy_clay", "heavy clay"),
                    ),
                ),
            ),
        ),
        Group(
            "Or a class of the texture triangle",
            (Question("texture", "Class", kind=Kind.SELECT, options=_TEXTURES),),
            folded=True,
        ),
    ),
)
MAP = SoilForm(
    "soil_map",
    "Soil map",
    "Copy the class that a map prints for the place. It is a hint, no more.",
    "10 min",
    (
        Group(
            "",
            (
                Question(
                    "texture",
                    "Class on the map",
                    kind=Kind.SELECT,
                    options=_TEXTURES,
                    needed=True,
                ),
                Question(
                    "map_name", "Which map, and its year", kind=Kind.TEXT, needed=True
                ),
            ),
        ),
    ),
)
