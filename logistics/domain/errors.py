"""The one refusal type of the project: a coded error a person can act on."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input.

    `field` is a dotted path, `given` what was found there, `remedy` what would be right.
    """

    code: str
    field: str
    given: str
    message: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.field}: {self.message} (given: {self.given}). {self.remedy}"


class Refused(Exception):
    """Input that cannot be used, with every problem that was found in it.

    Doors turn it into exit status 2 or HTTP 4xx; nothing is stored when it is raised.
    """

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("; ".join(str(problem) for problem in problems))


def refuse(
    code: str, *, field: str, given: object, message: str, remedy: str
) -> Refused:
    """Build a refusal of a single problem: `raise refuse("code", field=...)`."""
    shown = str(given)
    if len(shown) > 80:
        shown = shown[:77] + "..."
    return Refused(Problem(code, field, shown, message, remedy))
