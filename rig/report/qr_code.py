"""A text as a QR code, an SVG element: on labels the part, on reports what they are of.

Encoded by segno (ISO/IEC 18004). Scanners read it as typed text.
"""

from __future__ import annotations

import segno
from markupsafe import Markup, escape

_QUIET_MODULES = 4  # of white around it; ISO/IEC 18004 wants 4, from memory


def qr_code(text: str) -> Markup:
    """Return a QR code that a scanner reads as the text; its size is set by the page.

    Not a Micro QR code: some scanners read none. Of the sizes that hold the text it is
    the smallest, with as much correction as fits, at least level M (15 %).
    """
    # Beyond ASCII a code has to say its encoding, or readers guess
    made = (
        segno.make(text, error="m", micro=False)
        if text.isascii()
        else segno.make(text, error="m", micro=False, encoding="utf-8", eci=True)
    )
    element = made.svg_inline(
        border=_QUIET_MODULES, svgclass="code", lineclass=None, omitsize=True
    )
    told = escape(f"QR code of what stands in words beside it: {text}.")
    return Markup(element.replace("<svg ", f'<svg role="img" aria-label="{told}" ', 1))
