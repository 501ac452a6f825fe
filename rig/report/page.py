"""Reports as one HTML document that asks for nothing from outside and runs nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from jinja2 import Environment, PackageLoader, StrictUndefined

from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.report.run_view import utc, view_run
from rig.version import SOFTWARE_VERSION


def run_report(
    runs: Sequence[tuple[Run, RunFigures]], *, title: str, generated_at: datetime
) -> str:
    """Write the report of one run or of several.

    The same input gives the same document, byte for byte.

    Args:
        runs: Each with its figures, in the order of the report.
        title: Of the document.
        generated_at: When, UTC.

    Raises:
        ValueError: There is no run.
    """
    if not runs:
        raise ValueError("a report needs at least one run")
    views = [
        view_run(run, figures, anchor=f"run-{number}")
        for number, (run, figures) in enumerate(runs, start=1)
    ]
    return (
        _environment()
        .get_template("run_report.html")
        .render(
            title=title,
            generated_at=utc(generated_at),
            software_version=SOFTWARE_VERSION,
            runs=views,
            simulated=sum(view.simulated for view in views),
        )
    )


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("rig.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
