"""Forms for tests of the raw soil: by nose and hand, in a jar or a box, by a laboratory."""

from __future__ import annotations

from api.web.asking import Group, Kind, Question
from api.web.soil_form import SoilForm

SMELL = SoilForm(
    "smell_and_colour",
    "Smell and look",
    "Wet a fresh handful, smell it, look for roots.",
    "1 min",
    (
        Group(
            "",
            (
                Question(
                    "smell",
                    "It smells",
                    kind=Kind.CHOICE,
                    needed=True,
                    options=(
                        ("musty", "musty, of leaf mould"),
                        ("earthy", "earthy"),
                        ("none", "of nothing"),
                    ),
                ),
                Question(
                    "dark",
                    "Dark brown or black when wet",
                    kind=Kind.YES_NO,
                    needed=True,
                ),
                Question("roots", "Roots or leaves are in sight", kind=Kind.TICK),
            ),
        ),
    ),
    stop="It smells of fuel, tar or chemicals, or shows stains, ash, rubble or fibre"
    " cement? Stop: not until a laboratory has cleared it. Bad soil is never thinned with"
    " clean soil.",
)
RIBBON = SoilForm(
    "ribbon",
    "Ribbon",
    "Knead a moist lump, press it out between thumb and finger until it breaks.",
    "5 min",
    (
        Group(
            "",
            (
                Question(
                    "length_mm",
                    "It broke at",
                    unit="mm",
                    needed=True,
                    hint="0 if no ribbon forms",
                ),
                Question(
                    "feel",
                    "A wet pinch feels",
                    kind=Kind.CHOICE,
                    options=(
                        ("gritty", "gritty"),
                        ("smooth", "smooth"),
                        ("neither", "neither"),
                    ),
                ),
                Question(
                    "practised",
                    "My hands know soils that a laboratory measured",
                    kind=Kind.TICK,
                ),
            ),
        ),
    ),
)
BALL = SoilForm(
    "ball_drop",
    "Ball drop",
    "Make a moist ball as big as an egg, drop it from the shoulder on hard ground.",
    "2 min",
    (
        Group(
            "",
            (
                Question(
                    "fall",
                    "The ball",
                    kind=Kind.CHOICE,
                    needed=True,
                    options=(
                        ("flattens", "flattens"),
                        ("holds", "holds, a few cracks"),
                        ("shatters", "shatters"),
                    ),
                ),
            ),
        ),
    ),
)
ROLL = SoilForm(
    "roll",
    "Roll",
    "Roll a moist thread thinner and thinner on a board. One of the two will do.",
    "5 min",
    (
        Group(
            "",
            (
                Question("breaks_at_mm", "It broke when as thin as", unit="mm"),
                Question(
                    "unbroken_mm", "Or: 3 mm thin, it hung together for", unit="mm"
                ),
            ),
        ),
    ),
)
STONES = SoilForm(
    "stone_screen",
    "Stones",
    "Screen one bucket of soil; weigh the bucket and what the mesh keeps.",
    "15 min",
    (
        Group(
            "",
            (
                Question("total", "Screened in all", needed=True),
                Question("kept", "Kept by the mesh", needed=True),
            ),
            row=True,
        ),
        Group(
            "",
            (
                Question(
                    "by_mass",
                    "Both in",
                    kind=Kind.CHOICE,
                    options=(("kg", "kg"), ("litres", "litres")),
                    usual="kg",
                ),
                Question("mesh_mm", "Opening of the mesh", unit="mm", needed=True),
            ),
        ),
    ),
)
JAR = SoilForm(
    "jar",
    "Jar",
    "Shake soil in water with a pinch of washing soda; mark the sand after a minute, the"
    " silt after hours, the clay when the water is clear.",
    "1 to 2 days",
    (
        Group(
            "Height of each layer",
            (
                Question("sand_mm", "Sand", unit="mm", needed=True),
                Question("silt_mm", "Silt", unit="mm", needed=True),
                Question("clay_mm", "Clay", unit="mm", needed=True),
            ),
            row=True,
        ),
        Group(
            "",
            (
                Question("dispersant", "Washing soda in it", kind=Kind.TICK),
                Question("cloudy", "Water still cloudy", kind=Kind.TICK),
            ),
            row=True,
        ),
        Group(
            "Marks and times, if you noted them",
            (
                Question(
                    "cumulative",
                    "The heights are marks from the bottom",
                    kind=Kind.TICK,
                ),
                Question("sand_read_s", "Sand marked after", unit="min", scale=60),
                Question("silt_read_s", "Silt marked after", unit="hours", scale=3600),
                Question("clay_read_s", "Clay marked after", unit="hours", scale=3600),
                Question("fall_mm", "Water above the soil", unit="mm"),
                Question("water_c", "Water temperature", unit="°C"),
            ),
            folded=True,
        ),
    ),
)
BOX = SoilForm(
    "shrinkage_box",
    "Shrinkage box",
    "Fill a long box with the raw soil as stiff mud, let it dry, push the cracks shut.",
    "1 to 2 weeks",
    (
        Group(
            "",
            (
                Question(
                    "length_mm",
                    "Length of the box",
                    unit="mm",
                    needed=True,
                    usual="610",
                ),
                Question("shrinkage_mm", "It is shorter by", unit="mm", needed=True),
            ),
            row=True,
        ),
    ),
)
LAB = SoilForm(
    "laboratory",
    "Laboratory sheet",
    "Copy clay, silt and sand from the sheet, or the whole curve.",
    "1 to 3 weeks",
    (
        Group(
            "By dry weight",
            (
                Question("clay_percent", "Clay", unit="%"),
                Question("silt_percent", "Silt", unit="%"),
                Question("sand_percent", "Sand", unit="%"),
                Question("gravel_percent", "Gravel", unit="%"),
            ),
            row=True,
        ),
        Group(
            "",
            (
                Question(
                    "system",
                    "On the sheet, silt ends at",
                    kind=Kind.CHOICE,
                    usual="usda",
                    options=(
                        ("usda", "0.05 mm (USDA)"),
                        ("iso_14688", "0.063 mm (ISO 14688)"),
                        ("unified", "0.075 mm (Unified)"),
                    ),
                ),
                Question(
                    "method",
                    "Fines measured by",
                    kind=Kind.SELECT,
                    usual="not_stated",
                    options=(
                        ("not_stated", "Not stated"),
                        ("hydrometer", "Hydrometer"),
                        ("pipette", "Pipette"),
                        ("sieve_only", "Sieves only"),
                    ),
                ),
            ),
        ),
    ),
    sieves=True,
)
