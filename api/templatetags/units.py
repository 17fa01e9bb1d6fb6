"""Figures with their units, for templates. A no-break space keeps the two together."""

from __future__ import annotations

import re
from datetime import date, datetime

from django import template

from api.documents.text import money

register = template.Library()
GAP = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
RAISED = {"2": "²", "3": "³"}
_ISO_DAY = re.compile(r"\b20\d\d-(0[1-9]|1[0-2])-([0-2]\d|3[01])\b")
_UNIT = re.compile(r"(?<=\d) (?=(?:t|kg|l|mm|m|m²|m³|%)(?!\w))")
_POWER = re.compile(r"(?<=\d) m([23])\b")


def _figure(value: float, digits: int, unit: str) -> str:
    text = f"{value:,.{digits}f}".replace("-", MINUS)
    return f"{text}{GAP}{unit}"


@register.filter
def cost(minor: int, currency: str) -> str:
    """Minor units with their currency, as everywhere in the project."""
    return money(minor, currency).replace("-", MINUS).replace(" ", GAP)


@register.filter
def tonnes(kg: float, digits: int = 1) -> str:
    """kg as t."""
    return _figure(kg / 1000, digits, "t")


@register.filter
def m3(volume: float, digits: int = 1) -> str:
    """m3 as m³."""
    return _figure(volume, digits, "m³")


@register.filter
def m2(area: float, digits: int = 1) -> str:
    """m2 as m²."""
    return _figure(area, digits, "m²")


@register.filter
def metres(length: float) -> str:
    """m as m, to the centimetre."""
    return _figure(length, 2, "m")


@register.filter
def litres(volume: float) -> str:
    """l as l."""
    return _figure(volume, 0, "l")


@register.filter
def sentence(text: str) -> str:
    """A sentence of the documents with its m3 and its dates as pages write them, and no
    line break between a figure and its unit."""
    dated = _ISO_DAY.sub(lambda own: weekday(own[0]), text)
    raised = _POWER.sub(lambda own: f" m{RAISED[own[1]]}", dated)
    return _UNIT.sub(GAP, raised)


@register.filter
def litres_as_m3(litres: float) -> str:
    """l as m³."""
    return m3(litres / 1000)


@register.filter
def kilos(kg: float) -> str:
    """kg as kg."""
    return _figure(kg, 0, "kg")


@register.filter
def km(length: float, digits: int = 1) -> str:
    """km as km."""
    return _figure(length, digits, "km")


@register.filter
def hours(length: float) -> str:
    """Hours as h and min."""
    minutes = round(length * 60)
    if minutes < 60:
        return f"{minutes}{GAP}min"
    return f"{minutes // 60}{GAP}h{GAP}{minutes % 60:02d}{GAP}min"


@register.filter
def minutes(length: float) -> str:
    """Minutes as h and min."""
    return hours(length / 60)


@register.filter
def percent(value: float) -> str:
    """A percentage without needless zeros."""
    return f"{value:g}{GAP}%"


@register.filter
def clock(moment: datetime) -> str:
    """The time of day, in the zone that the moment carries."""
    return f"{moment:%H:%M}"


@register.filter
def short_day(day: date) -> str:
    """A date without its year, such as Wed 12 May."""
    return f"{day:%a}{GAP}{day.day}{GAP}{day:%b}"


@register.filter
def weekday(day: str | date) -> str:
    """An ISO date in words, such as Wed 12 May 2027."""
    own = date.fromisoformat(day) if isinstance(day, str) else day
    return f"{own:%a} {own.day} {own:%b %Y}"
