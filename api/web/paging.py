"""Pages of a list."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import HttpRequest

SIZE = 60


@dataclass(frozen=True, slots=True)
class Paging:
    """Where a page stands in its list; `query` is the rest of the address, if any."""

    page: int
    count: int
    query: str = ""

    @property
    def offset(self) -> int:
        """How many entries come before this page."""
        return (self.page - 1) * SIZE

    @property
    def last(self) -> int:
        """The number of the last page."""
        return max(1, -(-self.count // SIZE))

    @property
    def before(self) -> int | None:
        """The page before, if any."""
        return self.page - 1 if self.page > 1 else None

    @property
    def after(self) -> int | None:
        """The page after, if any."""
        return self.page + 1 if self.page < self.last else None


def asked_page(request: HttpRequest) -> int:
    """The page asked for; the first when the address says nothing sensible."""
    given = request.GET.get("page", "1")
    return int(given) if given.isdecimal() and 0 < int(given) < 10**6 else 1


def paging(page: int, count: int, **kept: str) -> Paging:
    """Where a page stands, keeping the filters of the address in its links."""
    query = urlencode({name: value for name, value in kept.items() if value})
    return Paging(page, count, f"{query}&" if query else "")
