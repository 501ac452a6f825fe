"""Results as JSON documents; plain data, ready for `json.dumps`."""

from __future__ import annotations

import json
from typing import Any, cast

from rig.cli.output import say
from rig.model.figure_kinds import FIGURE_KINDS
from rig.model.figures import Figure, RunFigures
from rig.model.plain import plain


def emit(document: dict[str, Any]) -> None:
    """Write one document to standard output."""
    say(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def figure_document(figure: Figure) -> dict[str, Any]:
    """Return a figure with its uncertainty, or the words why it has none."""
    return cast("dict[str, Any]", plain(figure))


def figures_document(figures: RunFigures) -> dict[str, Any]:
    """Return all figures of a run, names with their unit."""
    document: dict[str, Any] = {}
    for kind in FIGURE_KINDS:
        value: Figure | None = getattr(figures, kind.field)
        if value is not None:
            document[kind.key] = figure_document(value)
    return document
