"""From a typed test to the document that scenario files and REST send as well."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from api.documents.evidence import EvidenceDoc, OneTest
from api.documents.problems import read_document
from api.documents.reading_evidence import check_taken, read_test
from api.web.asking import (
    AskedGroup,
    Trouble,
    ask,
    named,
    read_answers,
    troubles,
)
from api.web.sieve_rows import Row, read_rows, rows
from api.web.soil_form import SAMPLE, SoilForm
from logistics.domain.errors import Problem, Refused
from matching.domain.soil.evidence import Record

# Rows for a laboratory's curve.
CURVE_ROWS = 10


@dataclass(frozen=True, slots=True)
class TypedTest:
    """A test as typed: its document and record, or the problems with it."""

    form: SoilForm
    groups: tuple[AskedGroup, ...]
    sample: tuple[AskedGroup, ...]
    rows: tuple[Row, ...]
    problems: tuple[Problem, ...] = ()
    document: EvidenceDoc | None = None
    record: Record | None = None

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """The summary of what is wrong."""
        return troubles(self.problems, (*self.groups, *self.sample))

    @property
    def curve_open(self) -> bool:
        """Whether something stands in the table of sieves."""
        return any(own.size or own.amount for own in self.rows)

    def with_problems(self, problems: tuple[Problem, ...]) -> TypedTest:
        """The same with what was refused later on, in the summary."""
        return replace(self, problems=problems, document=None, record=None)


def fresh_test(form: SoilForm, first: Mapping[str, str]) -> TypedTest:
    """An empty form. `first` is what the sample's fields hold at once, by their path."""
    return TypedTest(
        form, ask(form.groups), ask(SAMPLE, first), _rows(form, typed=None)
    )


def read_typed(form: SoilForm, typed: Mapping[str, str], today: date) -> TypedTest:
    """The test that was typed, or the form as it was with what is wrong with it."""
    groups = (*form.groups, *SAMPLE)
    sieves, wrong = read_rows(_rows(form, typed), "passing_percent")
    answers = read_answers(groups, typed)
    problems = (*answers.problems, *wrong)
    document = record = None
    if not problems:
        values = _values(form, answers.values)
        if sieves:
            values["sieves"] = sieves
        try:
            document = read_document(OneTest, json.dumps(values).encode()).root
            record = read_test(document)
            check_taken([record], today)
        except Refused as refused:
            problems = named(refused.problems, groups, drop=f"{form.kind}.")
    return TypedTest(
        form,
        ask(form.groups, typed, problems),
        ask(SAMPLE, typed, problems),
        _rows(form, typed),
        problems,
        None if problems else document,
        None if problems else record,
    )


def _rows(form: SoilForm, typed: Mapping[str, str] | None) -> tuple[Row, ...]:
    return rows(typed, (), spare=CURVE_ROWS) if form.sieves else ()


def _values(form: SoilForm, values: dict[str, Any]) -> dict[str, Any]:
    """What two forms ask otherwise than the document does."""
    found = {"kind": form.kind, **values}
    if form.kind == "jar":
        found["cleared"] = not found.pop("cloudy")
    if form.kind == "stone_screen":
        found["by_mass"] = found.get("by_mass", "kg") == "kg"
    return found


def sample_fields(document: EvidenceDoc) -> dict[str, str]:
    """What the label of one test says, to begin the next with."""
    own = document.sample
    found: dict[str, str] = {
        "sample.depth_from_m": f"{own.depth_from_m:g}",
        "sample.depth_to_m": f"{own.depth_to_m:g}",
        "sample.tester": own.tester,
        "sample.taken_on": own.taken_on.isoformat(),
        "sample.place": own.place,
    }
    return found
