"""Reading pages as a browser without scripts gets them, and asking for plans on them."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any
from uuid import UUID

from django.test import Client

from matching.selectors.runs import get_run, list_runs

DAYS = {"first_day": "2026-03-02", "last_day": "2026-03-04"}


class Outline(HTMLParser):
    """The parts of a page that the tests ask about."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.headings: list[int] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        joined = " ".join("".join(self.words).split())
        return joined.replace("\u2212", "-").replace("\xa0", " ")

    def every(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for own, attrs in self.tags if own == tag]


def outline(answer: Any) -> Outline:
    return Outline(answer.content.decode())


def planned(client: Client, build_id: int) -> tuple[Any, UUID]:
    """Ask for a plan on the page of a build, and open the page it leads to."""
    answer = client.post(f"/builds/{build_id}/plan/", DAYS)
    assert answer.status_code == 302
    return client.get(answer["Location"]), list_runs(offset=0, limit=1)[0][0].public_id


def document_of(public_id: UUID) -> dict[str, Any]:
    document = get_run(public_id).document
    assert document is not None
    return document
