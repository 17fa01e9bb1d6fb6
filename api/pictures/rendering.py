"""From a picture to SVG text."""

from __future__ import annotations

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from api.pictures.drawing import Picture


def svg(picture: Picture) -> SafeString:
    """The picture as one SVG element, fit for a page and to stand alone: its colours are
    presentation attributes, which a page's stylesheet may override."""
    return render_to_string(picture.template, {"pic": picture, "frame": picture.frame})
