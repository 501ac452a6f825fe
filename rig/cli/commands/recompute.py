"""`gapsweep recompute`: figures again from raw edges."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say, say_on_stderr
from rig.cli.text.run_text import run_text
from rig.errors import RunChanged

if TYPE_CHECKING:
    from rig.inquiry.recomputation import Recomputation, RecomputedPage
    from rig.records import Reader


@click.command(epilog=example("gapsweep recompute 20261125-093412-512-7f3a"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@click.option(
    "--pool-noise",
    is_flag=True,
    help="Estimate noise-free thresholds with the pooled noise of all these runs of a"
    " part against a target, if they scatter alike.",
)
@records_option
@json_option
def command(
    run_ids: tuple[str, ...], pool_noise: bool, records: str | None, as_json: bool
) -> int:
    """Recalculate figures from the recorded edges; earlier figures are kept.

    Without a RUN, does so for every run that has ended. A run that was changed since it
    was recorded is refused, with status 4.
    """
    # Deferred: help must answer at once
    from rig.inquiry.recomputation import Recomputation
    from rig.records import Reader
    from rig.records.run_names import runs_named

    with open_store(records) as store:
        run_ids = runs_named(store, run_ids)
        work = Recomputation(
            store, computed_at=datetime.now(UTC), pool_noise=pool_noise
        )
        pages = (
            [work.of_runs(run_ids)]
            if run_ids
            else work.of_all(processes=os.cpu_count() or 1)
        )
        changed: list[str] = []
        noted = _noted(pages, work, changed)
        if as_json:
            _say_document(noted)
        elif run_ids:
            _say_runs(noted, Reader(store))
        else:
            _say_counts(noted)
    return RunChanged.exit_status if changed else 0


def _noted(
    pages: Iterable[RecomputedPage], work: Recomputation, changed: list[str]
) -> Iterator[RecomputedPage]:
    """Yield the pages, and say on standard error what was passed over."""
    for page in pages:
        while work.unpooled:
            say_on_stderr(work.unpooled.pop(0))
        for run_id, why in page.passed_over:
            say_on_stderr(f"Run {run_id} {why}.")
        for sentence in page.changed:
            changed.append(sentence)
            say_on_stderr(f"R{sentence[1:]}; its figures are not worked out.")
        yield page


def _say_document(pages: Iterable[RecomputedPage]) -> None:
    # Deferred: help must answer at once
    from rig.inquiry.documents import document_parts
    from rig.inquiry.recomputation_document import recomputed_document

    rows = (recomputed_document(run) for page in pages for run in page.runs())
    for part in document_parts("recomputation", "runs", rows):
        say(part)


def _say_runs(pages: Iterable[RecomputedPage], reader: Reader) -> None:
    # Deferred: help must answer at once
    from rig.inquiry.recorded_run import evaluated_run
    from rig.sheets.run_sheet import run_sheet

    for page in pages:
        for run in page.runs():
            found = evaluated_run(reader.run(run.run_id), run.figures)
            say(run_text(run_sheet(found)))


def _say_counts(pages: Iterable[RecomputedPage]) -> None:
    total = 0
    for page in pages:
        done = page.run_ids
        total += len(done)
        if done:
            say(f"{done[0]} to {done[-1]}: figures of {len(done):,} runs")
    say(f"Figures of {total:,} runs were calculated again.")
