"""Where a material is judged: the ways in."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe


@require_safe
def judge(request: HttpRequest) -> HttpResponse:
    """Big cards: earth, sand, straw, and what to order."""
    return render(request, "web/judge.html", {"here": "judge"})
