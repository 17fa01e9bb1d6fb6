"""Whether straw goes into a wall: dry, sound, long, and straw rather than hay."""

from __future__ import annotations

from dataclasses import dataclass

from logistics.domain.errors import refuse
from logistics.domain.materials import Bale
from matching.domain.grounds import Finding, Ground, Level, StandingName, settle
from matching.domain.straws.bales import FORMS, bale_of
from matching.domain.straws.condition import (
    herbicide_findings,
    moisture_findings,
    mould_findings,
    plant_findings,
    storage_findings,
    strand_findings,
)
from matching.domain.straws.moisture import LEAST_DRY_KG_PER_M3, dry_kg_per_m3
from matching.domain.straws.records import Herbicide, StrawRecord

# Stalks grow brittle in store; common practice, no source.
OLD_YEARS = 2


@dataclass(frozen=True, slots=True)
class StrawJudgement:
    """The standing of straw for walls, the grounds that decide it, cautions that do not.
    `compostable` says whether surplus may become compost or mulch; `dry_kg_per_m3` is the
    bale's dry density (None when form or moisture is not known)."""

    standing: StandingName
    grounds: tuple[Ground, ...]
    cautions: tuple[Ground, ...]
    compostable: bool
    dry_kg_per_m3: float | None


def judge_straw(record: StrawRecord, *, in_year: int | None = None) -> StrawJudgement:
    """Judge a lot of straw for cob walls; `in_year` is the year of use, for its age.
    Raises Refused for a harvest after that year or an impossible bale mass."""
    bale = None if record.form is None else bale_of(record.form, record.bale_kg)
    density = _dry_density(bale, record.moisture)
    findings = [
        *plant_findings(record.plant),
        *moisture_findings(record),
        *mould_findings(record),
        *strand_findings(record.strand_mm),
        *storage_findings(record.storage),
        *herbicide_findings(record.herbicide),
        *_bale_findings(record, density),
        *_age_findings(record.harvested_year, in_year),
    ]
    if all(finding.level is Level.CAUTION for finding in findings):
        findings.append(_sound(record))
    standing, grounds, cautions = settle(findings)
    free = record.herbicide is Herbicide.FREE
    return StrawJudgement(standing, grounds, cautions, free, density)


def _dry_density(bale: Bale | None, moisture: float | None) -> float | None:
    if bale is None or moisture is None:
        return None
    return dry_kg_per_m3(bale, moisture)


def _sound(record: StrawRecord) -> Finding:
    ground = Ground(
        "sound",
        f"{record.plant} straw",
        "dry, long, sound straw",
        "Keep it under a roof until it is used.",
    )
    return Finding(Level.FIT, ground)


def _bale_findings(record: StrawRecord, density: float | None) -> list[Finding]:
    found = []
    if density is not None and density < LEAST_DRY_KG_PER_M3:
        ground = Ground(
            "loose_bale",
            f"{density:.0f} kg/m3 dry",
            f"{LEAST_DRY_KG_PER_M3:.0f} kg/m3 in walls stacked of bales",
            "A loose bale: no harm in cob, where bales are pulled apart, but it holds less"
            " straw and more air.",
        )
        found.append(Finding(Level.CAUTION, ground))
    if record.form is not None and record.bale_kg is not None:
        kg = FORMS[record.form].kg
        if record.bale_kg > kg.high:
            ground = Ground(
                "heavy_bale",
                f"{record.bale_kg:g} kg",
                f"{kg.low:.0f} to {kg.high:.0f} kg",
                "Heavier than bales of this form are: very tight, or wet inside.",
            )
            found.append(Finding(Level.CAUTION, ground))
    return found


def _age_findings(harvested: int | None, in_year: int | None) -> list[Finding]:
    if harvested is None or in_year is None:
        return []
    if harvested > in_year:
        raise refuse(
            "harvest_to_come",
            field="straw.harvested_year",
            given=harvested,
            message=f"this straw is judged in {in_year}",
            remedy="Give the year in which it was cut.",
        )
    if in_year - harvested < OLD_YEARS:
        return []
    ground = Ground(
        "old",
        f"cut in {harvested}",
        "this or last year's harvest",
        "Bend a handful: stalks that snap have gone brittle.",
    )
    return [Finding(Level.CAUTION, ground)]
