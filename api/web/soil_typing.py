"""From a typed test to the document that scenario files and REST send as well."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from api.documents.evidence import EvidenceDoc, OneTest
from api.documents.problems import read_document
from api.documents.reading_evidence import check_taken, read_test
from api.web.asking import AskedGroup
from api.web.sieve_rows import Row, read_rows, rows
from api.web.soil_form import SAMPLE, SoilForm
from api.web.typed import Trouble, Typed
from logistics.domain.errors import Problem, Refused
from matching.domain.soil.evidence import Record

# Rows for a laboratory's curve.
CURVE_ROWS = 10


@dataclass(frozen=True, slots=True)
class TypedTest:
    """A test as typed: its document and record, or what is wrong with it."""

    form: SoilForm
    typed: Typed
    document: EvidenceDoc | None = None
    record: Record | None = None

    @property
    def groups(self) -> tuple[AskedGroup, ...]:
        """What the test is asked."""
        return self.typed.groups(self.form.groups)

    @property
    def sample(self) -> tuple[AskedGroup, ...]:
        """The label of its sample."""
        return self.typed.groups(SAMPLE)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The table of sieves, if it has one."""
        return rows(self.typed, (), spare=CURVE_ROWS) if self.form.sieves else ()

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """The summary of what is wrong."""
        return self.typed.troubles

    @property
    def curve_open(self) -> bool:
        """Whether something stands in the table of sieves."""
        return any(own.size.value or own.amount.value for own in self.rows)

    def refused(self, problems: Sequence[Problem]) -> TypedTest:
        """The same with what was refused, said at its fields."""
        self.typed.blame(problems, drop=f"{self.form.kind}.")
        return replace(self, document=None, record=None)


def fresh_test(form: SoilForm, first: Mapping[str, str]) -> TypedTest:
    """An empty form. `first` is what the sample's fields hold at once, by their name."""
    return TypedTest(form, Typed(first))


def read_typed(form: SoilForm, given: Mapping[str, str], today: date) -> TypedTest:
    """The test that was typed, or the form as it was with what is wrong with it."""
    test = TypedTest(form, Typed(given))
    try:
        document = _document(test)
        record = read_test(document)
        check_taken([record], today)
    except Refused as refused:
        return test.refused(refused.problems)
    return replace(test, document=document, record=record)


def _document(test: TypedTest) -> EvidenceDoc:
    form, typed = test.form, test.typed
    values = _values(form, typed.values((*form.groups, *SAMPLE)))
    if form.sieves:
        sieves = read_rows(typed, (), "sieves", "passing_percent", spare=CURVE_ROWS)
        values |= {"sieves": sieves} if sieves else {}
    typed.check()
    return read_document(OneTest, json.dumps(values).encode()).root


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
