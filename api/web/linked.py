"""Forms that are asked by their address alone: numbered rows, and the shortest link."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import QueryDict
from django.urls import reverse


@dataclass(frozen=True, slots=True)
class Rows:
    """The numbered rows of a form: its page, the names of a row's parameters and the id of
    a row, each without its number, and the fewest and most rows that are shown."""

    page: str
    names: tuple[str, ...]
    anchor: str
    least: int
    most: int

    def filled(self, query: Mapping[str, str]) -> list[str]:
        """The numbers of the rows in which something stands."""
        return [
            row
            for row in map(str, range(1, self.most + 1))
            if any(query.get(name + row) for name in self.names)
        ]

    def shown(self, query: Mapping[str, str]) -> int:
        """How many rows the form has: those asked for, and no filled one is left out."""
        given = query.get("rows", "")
        wanted = int(given) if given.isdecimal() and len(given) < 3 else self.least
        last = max((int(row) for row in self.filled(query)), default=0)
        return min(max(wanted, last, self.least), self.most)

    def elsewhere(self, given: QueryDict, kept: Mapping[str, str]) -> str | None:
        """Where the form is to be read instead: with a row more if that is asked for, and
        at the shortest address, which people can send each other."""
        if "add" in kept:
            rows = min(self.shown(kept) + 1, self.most)
            left = {name: text for name, text in kept.items() if name != "add"}
            own = {**left, "rows": str(rows), "edit": "1"}
            return f"{address(self.page, own)}#{self.anchor}{rows}"
        return None if kept == given.dict() else address(self.page, kept)

    def asked(self, kept: Mapping[str, str]) -> bool:
        """Whether an answer is wanted, not only a longer form."""
        return "edit" not in kept and bool(self.filled(kept))


def address(page: str, query: Mapping[str, str]) -> str:
    """The address of a page with its parameters."""
    own = reverse(page)
    return f"{own}?{urlencode(query)}" if query else own


def short(query: QueryDict, defaults: Mapping[str, str]) -> dict[str, str]:
    """The parameters that say something: a link that can be sent. `defaults` are values
    that say nothing, by the name of the parameter without its number."""
    return {
        name: text
        for name, given in query.items()
        for text in (str(given).strip(),)
        if text and text != defaults.get(name.rstrip("0123456789_"), "")
    }
