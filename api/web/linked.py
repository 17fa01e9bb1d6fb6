"""Forms that are asked by their address alone: numbered rows, and the shortest link."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.urls import reverse

from api.web.typed import Typed
from logistics.domain.errors import Refused


@dataclass(frozen=True, slots=True)
class Rows:
    """The numbered rows of a form: its page, the names of a row's parameters and the id of
    a row, each without its number, and the fewest and most rows that are shown. `usual`
    are values that say nothing, by the name of the parameter without its number."""

    page: str
    names: tuple[str, ...]
    anchor: str
    least: int
    most: int
    usual: Mapping[str, str]

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


def linked_page(
    request: HttpRequest,
    rows: Rows,
    *,
    form: Callable[[Typed], object],
    answer: Callable[[Typed], dict[str, Any]],
    context: Mapping[str, Any],
) -> HttpResponse:
    """The page of these rows: its form and, as soon as something stands in a row, what
    `answer` adds to the context or, where it raises Refused, what is to be mended."""
    kept = short(request.GET, rows.usual)
    other = rows.elsewhere(request.GET, kept)
    if other:
        return HttpResponseRedirect(other)
    typed = Typed(kept)
    found = {"here": rows.page, **context}
    if rows.asked(kept):
        try:
            found |= answer(typed)
        except Refused as refused:
            typed.blame(refused.problems)
    found |= {"form": form(typed), "troubles": typed.troubles}
    status = 400 if typed.troubles else 200
    return render(request, f"web/{rows.page}.html", found, status=status)
