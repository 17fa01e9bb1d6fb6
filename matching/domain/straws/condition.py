"""Findings on straw: water, mould, storage, strands, plant, sprays."""

from __future__ import annotations

from matching.domain.grounds import Finding, Ground, Known, Level, percent
from matching.domain.straws.records import (
    Herbicide,
    Plant,
    Smell,
    Storage,
    StrawRecord,
)

# Residential code's straw-bale appendix (seen quoted) and California H&S Code 18944.35
# (seen): at most 20 % of total mass. A maker of straw panels (seen): under 15 %.
MOST_MOISTURE = 0.20
DRY_MOISTURE = 0.15
# Jones, Building with Straw Bales (seen): straw at least 150 mm long.
LEAST_STRAND_MM = 150.0
LIMIT = f"at most {percent(MOST_MOISTURE)} of the total mass"


def plant_findings(plant: Plant) -> list[Finding]:
    """Straw or hay. IRC appendix AU, AU103.3 (seen): wheat, rice, rye, barley, oat or
    similar fibre."""
    wanted = "straw of wheat, rye, barley, oat or rice"
    if plant is Plant.HAY:
        ground = Ground(
            "hay",
            "hay",
            wanted,
            "Hay is green leaf and seed: it feeds mould, rots in the wall and is weak where"
            " straw is tough. Take straw.",
        )
        return [Finding(Level.UNFIT, ground)]
    if plant is Plant.UNKNOWN:
        ground = Ground(
            "plant_unknown",
            "plant not named",
            wanted,
            "Ask what was baled: hollow yellow stalks without seed are straw, green leaf is"
            " hay.",
        )
        return [Finding(Level.NOT_UNTIL, ground)]
    if plant is Plant.OTHER:
        ground = Ground(
            "plant_other",
            "another fibre",
            wanted,
            "The code allows similar fibre: long, strong and slow to rot. Make a test brick.",
        )
        return [Finding(Level.CAUTION, ground)]
    return []


def moisture_findings(record: StrawRecord) -> list[Finding]:
    """Water in the bales, measured or not."""
    moisture = record.moisture
    if moisture is None:
        return [_unmeasured(record.storage)]
    if moisture > MOST_MOISTURE:
        ground = Ground(
            "damp", percent(moisture), LIMIT, "Damp bales mould and heat up."
        )
        return [Finding(Level.UNFIT, ground)]
    if moisture > DRY_MOISTURE:
        ground = Ground(
            "nearly_damp",
            percent(moisture),
            f"{LIMIT}, better {percent(DRY_MOISTURE)}",
            "Allowed, but with little to spare: keep air around it, use it soon, and"
            " measure again before use.",
        )
        return [Finding(Level.CAUTION, ground)]
    return []


def mould_findings(record: StrawRecord) -> list[Finding]:
    """Mould seen, or smelt."""
    wanted = "no visible decay"
    if record.mould is Known.YES:
        ground = Ground(
            "mould",
            "mould",
            wanted,
            "Mouldy straw is weak and its dust harms lungs: do not shake it out.",
        )
        return [Finding(Level.UNFIT, ground)]
    if record.smell is Smell.MUSTY:
        ground = Ground(
            "musty",
            "smells musty",
            "opened bales free of mould, and no musty smell",
            "Mould is smelt before it is seen: open bales from the middle and the foot of"
            " the stack and look for black or white spots.",
        )
        return [Finding(Level.NOT_UNTIL, ground)]
    if record.mould is Known.UNKNOWN:
        ground = Ground(
            "mould_unseen", "no bale opened", wanted, "Open one or two bales and look."
        )
        return [Finding(Level.CAUTION, ground)]
    return []


def storage_findings(storage: Storage) -> list[Finding]:
    """Where it lay. A straw-bale handbook (seen): look at bales from different places in
    the stack, and at the roof and floor of the store."""
    if storage in (Storage.BARN, Storage.COVERED):
        return []
    known = storage is Storage.OUTDOORS
    ground = Ground(
        "outdoors" if known else "storage_unknown",
        "stood outdoors" if known else "storage not stated",
        "kept dry under a roof",
        "Look into bales from several places: top, foot, outside and middle of the stack."
        " Take only the dry ones.",
    )
    return [Finding(Level.CAUTION, ground)]


def strand_findings(strand_mm: float | None) -> list[Finding]:
    """Length of the stalks."""
    wanted = f"at least {LEAST_STRAND_MM:.0f} mm"
    if strand_mm is None:
        ground = Ground(
            "strand_unknown",
            "strands not measured",
            wanted,
            "Ask whether the combine or the baler chopped it; measure a handful.",
        )
        return [Finding(Level.CAUTION, ground)]
    if strand_mm >= LEAST_STRAND_MM:
        return []
    # Short straw gives plaster a nicer face (a cob builders' list, seen). Another builder
    # there holds that anything above an inch will bind a wall; the handbook is followed.
    ground = Ground(
        "short",
        f"{strand_mm:.0f} mm",
        wanted,
        "Short strands do not knit a wall together. Chopped straw still serves in clay"
        " plaster, daub and floors.",
    )
    return [Finding(Level.UNFIT, ground)]


def herbicide_findings(herbicide: Herbicide) -> list[Finding]:
    """Persistent herbicides (aminopyralid, clopyralid, picloram) stay active in straw and
    compost for years (university extensions, seen); a wall does not mind."""
    if herbicide is Herbicide.FREE:
        return []
    stated = herbicide is Herbicide.TREATED
    ground = Ground(
        "herbicide_treated" if stated else "herbicide_unknown",
        "treated" if stated else "no statement",
        "declared free of persistent herbicides",
        "Does not harm the wall. Surplus straw must not become compost or mulch unless it"
        " is declared free.",
    )
    return [Finding(Level.CAUTION, ground)]


def _unmeasured(storage: Storage) -> Finding:
    dry_store = storage in (Storage.BARN, Storage.COVERED)
    ground = Ground(
        "moisture_unmeasured",
        "moisture not measured",
        LIMIT,
        "Push a hand or a meter into several bales: dry to the touch, crisp, no damp"
        " smell.",
    )
    return Finding(Level.CAUTION if dry_store else Level.NOT_UNTIL, ground)
