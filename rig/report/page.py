"""Reports as one HTML document that asks for nothing from outside and runs nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rig.analysis.limits.verdict import GUARDED, Rule
from rig.model.figures import RunFigures
from rig.model.sweeps import Run
from rig.records import EdgesCheck
from rig.report.run_view import RunView, view_run
from rig.sheets.bench_words import utc
from rig.version import SOFTWARE_VERSION

NO_CHECKS: Mapping[str, EdgesCheck] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """What every report says besides its own matter.

    Attributes:
        title: Of the document.
        generated_at: When, UTC.
        noun: What it is made of: run, part, reading.
        total: How many of these.
        simulated: How many of them a simulated rig made.
    """

    title: str
    generated_at: datetime
    noun: str
    total: int
    simulated: int


def run_report(
    runs: Sequence[tuple[Run, RunFigures]],
    *,
    title: str,
    generated_at: datetime,
    rule: Rule = GUARDED,
    checks: Mapping[str, EdgesCheck] = NO_CHECKS,
) -> str:
    """Write the report of one run or of several.

    The same input gives the same document, byte for byte.

    Args:
        runs: Each with its figures, in the order of the report.
        title: Of the document.
        generated_at: When, UTC.
        rule: Of the verdicts.
        checks: Of the runs' edges, by the run's identity.

    Raises:
        ValueError: There is no run.
        InputError: A limit of a data sheet is of no use.
    """
    if not runs:
        raise ValueError("a report needs at least one run")
    views = run_views(runs, rule=rule, checks=checks)
    page = Page(
        title=title,
        generated_at=generated_at,
        noun="run",
        total=len(views),
        simulated=sum(view.simulated for view in views),
    )
    return render("run_report.html", page, runs=views)


def run_views(
    runs: Sequence[tuple[Run, RunFigures]],
    *,
    rule: Rule,
    checks: Mapping[str, EdgesCheck],
) -> list[RunView]:
    """Put runs into words, each with an anchor of its own."""
    return [
        view_run(
            run,
            figures,
            anchor=f"run-{number}",
            rule=rule,
            check=checks.get(run.header.run_id),
        )
        for number, (run, figures) in enumerate(runs, start=1)
    ]


def render(template: str, page: Page, **matter: Any) -> str:
    """Write a document.

    Args:
        template: Name of its template.
        page: What every report says.
        matter: What this one says besides.
    """
    several = "" if page.total == 1 else "s"
    return (
        _environment()
        .get_template(template)
        .render(
            title=page.title,
            generated_at=utc(page.generated_at),
            software_version=SOFTWARE_VERSION,
            contents=f"{page.total} {page.noun}{several}",
            mark=_mark(page),
            mark_in_part=page.simulated < page.total,
            **matter,
        )
    )


def _mark(page: Page) -> str:
    """Say what a simulated rig made; empty if nothing."""
    if not page.simulated:
        return ""
    if page.simulated < page.total:
        return (
            f"A simulated rig made {page.simulated} of {page.total} {page.noun}s, each"
            " of them marked: behind these no sensor was measured."
        )
    made = (
        f"this {page.noun}" if page.total == 1 else f"all {page.noun}s of this report"
    )
    return f"No sensor was measured: a simulated rig made {made}."


def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("rig.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
