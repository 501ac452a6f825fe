"""Results as JSON documents; plain data, ready for `json.dumps`."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, cast

from rig.cli.output import say
from rig.model.figures import RunFigures
from rig.model.plain import plain

if TYPE_CHECKING:
    from rig.model.sweeps import Run


def emit(document: dict[str, Any]) -> None:
    """Write one document to standard output."""
    say(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def run_document(run: Run, figures: RunFigures | None) -> dict[str, Any]:
    """Return a run as it stands in the document of a plan or of the demo."""
    # Deferred: it needs numpy, and help must answer at once
    from rig.inquiry import run_document as documents
    from rig.inquiry.recorded_run import evaluated_run

    return cast(
        "dict[str, Any]", plain(documents.run_document(evaluated_run(run, figures)))
    )
