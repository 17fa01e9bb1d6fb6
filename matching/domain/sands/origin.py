"""What a sand's name, grains and salt say, apart from its sieves."""

from __future__ import annotations

from matching.domain.grounds import Finding, Ground, Known, Level, percent
from matching.domain.sands.bulking import BULKING, DAMP
from matching.domain.sands.records import Called, SandRecord, Shape

# No limit for cob was found. 0.06 % is a national limit for sand in reinforced concrete
# (seen quoted); above it a wall is likely to bloom with salt.
MOST_CHLORIDE = 0.0006
SHARP = "sharp grains"

# A cob builder's handbook (seen): coarse concrete or "reject" sand. Masonry, plaster and
# play sand are wrong (a trade page, seen).
_BY_NAME: dict[Called, tuple[Level, str, str]] = {
    Called.CONCRETE: (
        Level.FIT,
        "sharp",
        "Coarse, graded, angular sand locks together.",
    ),
    Called.MASONRY: (
        Level.UNFIT,
        "too_fine",
        "Masonry sand is too fine and too even for large walls; it can make plaster.",
    ),
    Called.PLAY: (
        Level.UNFIT,
        "too_fine",
        "Play sand is fine and even, often rounded: not for walls.",
    ),
    Called.UNKNOWN: (
        Level.NOT_UNTIL,
        "name_unknown",
        "Ask the yard for its name and its sieve sheet, or sieve a sample.",
    ),
}


def name_finding(called: Called) -> Finding | None:
    """What the name alone promises of the sizes; None where it speaks of shape only."""
    if called not in _BY_NAME:
        return None
    level, code, text = _BY_NAME[called]
    found = "sand of no known name" if called is Called.UNKNOWN else f"{called} sand"
    return Finding(level, Ground(code, found, "concrete (sharp) sand", text))


def shape_findings(record: SandRecord) -> list[Finding]:
    """Findings on the shape of the grains."""
    by_water_or_wind = record.called in (Called.BEACH, Called.DUNE)
    if record.shape is Shape.ROUNDED or (
        by_water_or_wind and record.shape is Shape.UNKNOWN
    ):
        return [_rounded(record)]
    if by_water_or_wind:
        return [_contradictory(record)]
    if record.shape is Shape.UNKNOWN:
        return [_unseen()]
    return []


def salt_findings(record: SandRecord) -> list[Finding]:
    """Findings on salt: a laboratory's figure overrules the word of the holder."""
    if record.chloride is not None:
        return _measured_salt(record.chloride, record.salt)
    if record.salt is Known.YES:
        return [_salty("said to be salty")]
    from_the_sea = record.called is Called.BEACH or record.shells is Known.YES
    if record.salt is Known.UNKNOWN and from_the_sea:
        ground = Ground(
            "salt_unknown",
            "sand from the sea",
            "washed in fresh water",
            "May carry salt, which draws damp and blooms: ask whether it was washed in"
            " fresh water, or have the chloride measured.",
        )
        return [Finding(Level.CAUTION, ground)]
    return []


def bulking_findings(record: SandRecord) -> list[Finding]:
    """A caution when damp sand may be sold by volume."""
    moisture = record.moisture
    dry_or_flooded = moisture is not None and not DAMP[0] <= moisture <= DAMP[1]
    if record.sold_by_volume is Known.NO or dry_or_flooded:
        return []
    low, high = BULKING
    ground = Ground(
        "bulking",
        "moisture not given" if moisture is None else f"{percent(moisture)} moisture",
        "bought by mass",
        f"Damp sand (most at 4 to 8 % water) takes {low * 100:.0f} to {high * 100:.0f} %"
        " more room than dry: buy it by the tonne, or measure buckets of it flooded.",
    )
    return [Finding(Level.CAUTION, ground)]


def _measured_salt(chloride: float, said: Known) -> list[Finding]:
    if chloride > MOST_CHLORIDE:
        return [_salty(f"{chloride * 100:.3f} % chloride")]
    if said is Known.YES:
        ground = Ground(
            "salt_measured",
            f"said to be salty; {chloride * 100:.3f} % chloride",
            f"at most {MOST_CHLORIDE * 100:.2f} %",
            "The measured figure counts; make sure that it is of this heap.",
        )
        return [Finding(Level.CAUTION, ground)]
    return []


def _salty(found: str) -> Finding:
    ground = Ground(
        "salty",
        found,
        f"at most {MOST_CHLORIDE * 100:.2f} % chloride (a rule for concrete sand)",
        "Salt draws damp and bursts the face of the wall: not until it has been washed in"
        " fresh water and tested again.",
    )
    return Finding(Level.NOT_UNTIL, ground)


def _rounded(record: SandRecord) -> Finding:
    texts = {
        Called.BEACH: "Beach sand is rounded, slides, and may carry salt.",
        Called.DUNE: "Wind-blown sand is rounded and of one size: it slides.",
    }
    ground = Ground(
        "rounded",
        _as_given(record),
        SHARP,
        texts.get(record.called, "Rounded grains slide on one another."),
    )
    return Finding(Level.UNFIT, ground)


def _as_given(record: SandRecord) -> str:

    name = "sand" if record.called is Called.UNKNOWN else f"{record.called} sand"
    return name if record.shape is Shape.UNKNOWN else f"{record.shape} {name}"


def _contradictory(record: SandRecord) -> Finding:
    ground = Ground(
        "shape_contradictory",
        _as_given(record),
        "one account of its grains",
        "Beach and dune sands are rounded as a rule: look through a lens and make test"
        " bricks.",
    )
    return Finding(Level.NOT_UNTIL, ground)


def _unseen() -> Finding:
    ground = Ground(
        "shape_unseen",
        "nobody looked",
        SHARP,
        "Rub it between the fingers: sharp sand bites and squeaks, rounded sand slips.",
    )
    return Finding(Level.CAUTION, ground)
