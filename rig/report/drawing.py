"""Drawings as SVG elements that can stand in a page; knows no figure and no run.

matplotlib loads when something is drawn.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure as Canvas

WIDTH_INCHES = 7.1  # 180 mm: the text of an A4 page with 15 mm margins
INK = "#1a1a1a"
BLUE = "#0b4f8a"
RUST = "#9a3d00"
GREY = "#4d4d4d"
FAINT = "#d9d9d9"
_LABEL_CHARACTERS = 12
_STYLE: dict[Any, Any] = {  # the keys' type differs between versions
    "svg.fonttype": "none",  # text stays text: it can be found, copied and read aloud
    "font.family": "sans-serif",
    "font.size": 9.0,
    "axes.linewidth": 0.7,
    "axes.formatter.useoffset": False,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": False,
    # What a user typed is no formula
    "text.parse_math": False,
}


def drawn(
    draw: Callable[[Canvas], None],
    *,
    plot_id: str,
    words: str,
    height_inches: float,
    width_inches: float = WIDTH_INCHES,
) -> Markup:
    """Draw and return an SVG element.

    Args:
        draw: Puts everything on the canvas.
        plot_id: Begins every id in the element; to be unique in the page.
        words: Say what the drawing shows, for whoever does not see it.
        height_inches: Height of the canvas.
        width_inches: Width of the canvas.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure as Canvas

    with mpl.rc_context():
        mpl.rcdefaults()  # a style of the user's own must not change a report
        mpl.rcParams.update(_STYLE)
        mpl.rcParams["svg.hashsalt"] = plot_id
        canvas = Canvas(figsize=(width_inches, height_inches), layout="constrained")
        draw(canvas)
        return _svg(canvas, plot_id, words)


def legend_above(canvas: Canvas, keys: Sequence[Artist]) -> None:
    """Explain markers and lines in rows above everything."""
    canvas.legend(
        handles=list(keys),
        loc="outside upper left",
        ncols=min(len(keys), 5),
        frameon=False,
        handletextpad=0.5,
        columnspacing=1.6,
    )


def labels_of(names: Sequence[str]) -> list[str]:
    """Return labels for an axis: the names, or numbered ones if one does not fit.

    Letters that the font may lack are left out: the number says which row is meant.
    """
    cut = [_cut(name) for name in names]
    if cut == list(names):
        return cut
    return [f"{number}\n{name}".strip() for number, name in enumerate(cut, start=1)]


def _cut(name: str) -> str:
    known = "".join(c for c in name if " " <= c < "\u0180" and c.isprintable()).strip()
    if known == name and len(name) <= _LABEL_CHARACTERS:
        return name
    return f"{known[: _LABEL_CHARACTERS - 1].strip()}…"


def _svg(canvas: Canvas, plot_id: str, words: str) -> Markup:
    """Write the drawing as an element with unique ids and a description."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    text = io.StringIO()
    empty = dict.fromkeys(("Creator", "Date", "Format", "Type"))
    FigureCanvasSVG(canvas)
    canvas.savefig(text, format="svg", metadata=empty)
    drawing = text.getvalue()
    drawing = drawing[drawing.index("<svg") :].strip()
    # A style element would reach beyond the drawing, into the page around it
    drawing = re.sub(r"<defs>\s*<style.*?</style>\s*</defs>", "", drawing, flags=re.S)
    drawing = re.sub(r'\b(id|xlink:href|href)="(#?)', rf'\1="\2{plot_id}-', drawing)
    drawing = re.sub(r"url\(#", f"url(#{plot_id}-", drawing)
    label = escape(words)
    return Markup(drawing.replace("<svg ", f'<svg role="img" aria-label="{label}" ', 1))
