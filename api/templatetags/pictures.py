"""Tags that write the marks of a picture, for the templates of pictures and pages."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from api.pictures.drawing import Both, Dot, Frame, KeyEntry, Label, Mark, Picture
from api.pictures.looks import COLOURS, INK, INK_ALONE, LOOKS, PATTERNS, Pattern
from api.pictures.rendering import svg

register = template.Library()


@register.simple_tag
def ink() -> str:
    """The colour of ink where no stylesheet sets one."""
    return INK_ALONE


@register.simple_tag
def layer(frame: Frame, marks: Mark | Iterable[Mark], look: str) -> SafeString:
    """A group of marks in one look."""
    own = marks if isinstance(marks, Iterable) else (marks,)
    drawn = format_html_join("", "{}", ((_mark(mark),) for mark in own))
    if not drawn:
        return drawn
    return format_html("<g {}>{}</g>\n", _attributes(look, frame.key), drawn)


@register.simple_tag
def key(frame: Frame, entries: Iterable[KeyEntry]) -> SafeString:
    """The key of a picture."""
    return format_html_join(
        "",
        "{}{}",
        (
            (layer(frame, own.sample, own.look), layer(frame, own.words, "text"))
            for own in entries
        ),
    )


@register.simple_tag
def patterns(frame: Frame) -> SafeString:
    """The patterns that a picture uses."""
    return format_html_join(
        "",
        "{}",
        ((_pattern(frame.key, name, PATTERNS[name]),) for name in frame.patterns),
    )


@register.simple_tag
def drawing(picture: Picture) -> SafeString:
    """A picture as inline SVG."""
    return svg(picture)


@register.inclusion_tag("pictures/figure.html")
def figure(picture: Both[Any]) -> dict[str, Any]:
    """A picture in both sizes with its figures in a table that folds out."""
    return {"picture": picture, "table": picture.table}


def _mark(mark: Mark) -> SafeString:
    if isinstance(mark, Label):
        return _label(mark)
    if isinstance(mark, Dot):
        return format_html(
            '<circle cx="{}" cy="{}" r="{}"/>', _n(mark.x), _n(mark.y), _n(mark.r)
        )
    return format_html('<path d="{}"/>', mark.d)


def _label(own: Label) -> SafeString:
    x, y = _n(own.x), _n(own.y)
    turn = (
        format_html(' transform="rotate({} {} {})"', _n(own.turn), x, y)
        if own.turn
        else ""
    )
    return format_html(
        '<text x="{}" y="{}" text-anchor="{}"{}>{}</text>',
        x,
        y,
        own.anchor,
        turn,
        own.text,
    )


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _attributes(name: str, key: str) -> SafeString:
    """Class and presentation attributes of a look."""
    look = LOOKS[name]
    classes = [f"p-{name}"]
    pairs: list[tuple[str, str]] = []
    if look.pattern:
        pairs.append(("fill", f"url(#{key}-{look.pattern})"))
    else:
        pairs.append(("fill", COLOURS.get(look.fill, "none")))
        classes += [f"f-{look.fill}"] if look.fill else []
    if look.stroke:
        pairs += [("stroke", COLOURS[look.stroke]), ("stroke-width", _n(look.width))]
        classes.append(f"s-{look.stroke}")
    if look.dash:
        pairs.append(("stroke-dasharray", look.dash))
    if look.round:
        pairs += [("stroke-linecap", "round"), ("stroke-linejoin", "round")]
    if look.opacity < 1:
        pairs.append(("fill-opacity", str(look.opacity)))
    if look.text:
        pairs += [("font-size", f"{look.text:g}"), ("paint-order", "stroke")]
        pairs.append(("stroke-linejoin", "round"))
    if look.bold:
        pairs.append(("font-weight", "650"))
    return format_html(
        'class="{}"{}',
        " ".join(classes),
        format_html_join("", ' {}="{}"', pairs),
    )


def _pattern(key: str, name: str, own: Pattern) -> SafeString:
    turn = (
        format_html(' patternTransform="rotate({})"', _n(own.turn)) if own.turn else ""
    )
    lines = (
        format_html(
            '<path d="{}" fill="none" stroke="{}" stroke-width="{}"/>',
            own.d,
            INK,
            own.stroke,
        )
        if own.d
        else ""
    )
    discs = format_html_join(
        "",
        '<circle cx="{}" cy="{}" r="{}" fill="{}"/>',
        ((x, y, r, INK) for x, y, r in own.discs),
    )
    return format_html(
        '<pattern id="{}-{}" width="{}" height="{}" patternUnits="userSpaceOnUse"{}>'
        '<rect class="f-{}" width="{}" height="{}" fill="{}" fill-opacity="{}"/>'
        "{}{}</pattern>",
        key,
        name,
        own.side,
        own.side,
        turn,
        own.tint,
        own.side,
        own.side,
        COLOURS[own.tint],
        own.opacity,
        lines,
        discs,
    )
