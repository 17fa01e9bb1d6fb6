"""The bill as a table: lines under their kind, with a subtotal that they add up to."""

from __future__ import annotations

from dataclasses import dataclass

from api.documents.plan_models import LineAnswer, PlanAnswer
from api.documents.text import KINDS
from logistics.domain.planning.result import LineKind


@dataclass(frozen=True, slots=True)
class BillLine:
    """One line: what for, how it was reckoned, and the amount in minor units."""

    subject: str
    formula: str
    amount_minor: int


@dataclass(frozen=True, slots=True)
class BillGroup:
    """All lines of a kind. `subtotal_minor` is their sum."""

    title: str
    lines: tuple[BillLine, ...]
    subtotal_minor: int


@dataclass(frozen=True, slots=True)
class Bill:
    """The whole bill; `to_pay_minor` and `avoided_minor` add up to the total."""

    groups: tuple[BillGroup, ...]
    to_pay_minor: int
    avoided_minor: int
    total_minor: int


def bill(plan: PlanAnswer) -> Bill:
    """The plan's cost lines, grouped by kind in the order of the words for them."""
    names = _names(plan)
    groups = []
    for kind, title in KINDS.items():
        lines = [line for line in plan.lines if line.kind == kind]
        if lines:
            own = tuple(_line(line, names) for line in lines)
            groups.append(BillGroup(title, own, sum(line.amount_minor for line in own)))
    avoided = plan.subtotals_minor.get(LineKind.TIPPING_AVOIDED, 0)
    return Bill(tuple(groups), plan.total_minor - avoided, avoided, plan.total_minor)


def _names(plan: PlanAnswer) -> dict[str, str]:
    names = {deal.offer: deal.offer_name for deal in plan.deals}
    names.update({deal.need: deal.build_name for deal in plan.deals})
    return names


def _line(line: LineAnswer, names: dict[str, str]) -> BillLine:
    """Keys of offers and needs become the names that the page uses elsewhere."""
    subject = line.subject
    if line.kind in (LineKind.MATERIAL, LineKind.TIPPING_AVOIDED):
        keys = subject.split(" > ")
        subject = " → ".join(names.get(key, key) for key in keys)
    return BillLine(subject, line.formula, line.amount_minor)
