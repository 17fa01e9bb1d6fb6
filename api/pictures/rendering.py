"""From a picture to SVG text."""

from __future__ import annotations

from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from api.pictures.drawing import Picture

# Characters that XML 1.0 does not hold, even escaped: one in a name would break the file.
_NO_XML = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF))


def svg(picture: Picture) -> SafeString:
    """The picture as one SVG element, fit for a page and to stand alone: its colours are
    presentation attributes, which a page's stylesheet may override."""
    text = render_to_string(picture.template, {"pic": picture, "frame": picture.frame})
    # Still safe: only characters are left out of what a template has escaped.
    return SafeString(text.translate(_NO_XML))
