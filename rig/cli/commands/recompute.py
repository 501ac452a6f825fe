"""`gapsweep recompute`: figures again from raw edges."""

from __future__ import annotations

from collections import defaultdict, deque
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from rig.cli.documents import emit, figures_document
from rig.cli.open_rig import open_store
from rig.cli.options import example, json_option, records_option
from rig.cli.output import say
from rig.cli.text.run_text import run_text

if TYPE_CHECKING:
    from rig.analysis.edges.run_arrays import RunArrays
    from rig.analysis.run.pooled_threshold import SensorNoise
    from rig.model.mounted import Sensor, Target
    from rig.model.sweeps import Run
    from rig.records import Reader, RunFilter

_POOLED_RUNS = 64  # more of them sharpen the noise by next to nothing


@click.command(epilog=example("gapsweep recompute 20261125-093412-512-7f3a"))
@click.argument("run_ids", metavar="[RUN]...", nargs=-1)
@click.option(
    "--pool-noise",
    is_flag=True,
    help="Noise-free thresholds by the noise of all these runs of a sensor and target.",
)
@records_option
@json_option
def command(
    run_ids: tuple[str, ...], pool_noise: bool, records: str | None, as_json: bool
) -> None:
    """Work figures out again from raw edges; earlier ones stay on record.

    Without a RUN, those of every run that has ended.
    """
    # Deferred: help must answer at once
    from rig.analysis.run.run_figures import run_figures
    from rig.inquiry.recorded_run import evaluated_run
    from rig.records import Reader, RunFilter, Writer
    from rig.sheets.run_sheet import run_sheet

    now = datetime.now(UTC)
    documents = []
    with open_store(records) as store:
        reader, writer = Reader(store), Writer(store)
        for run_id in run_ids:
            reader.run(run_id)  # complain of a wrong name before anything is written
        wanted = RunFilter(run_ids=run_ids or None)
        noises = _noises(reader, wanted) if pool_noise else {}
        for run in reader.iter_runs(wanted):
            if why := _why_without(run, asked_for=bool(run_ids)):
                click.echo(f"Run {run.header.run_id} {why}.", err=True)
                continue
            figures = run_figures(run, noise=noises.get(_pair(run)))
            writer.add_figures(run.header.run_id, figures, computed_at=now)
            if as_json:
                documents.append(
                    {
                        "run_id": run.header.run_id,
                        "simulated": run.header.conditions.simulated,
                        **figures_document(figures),
                        "warnings": list(figures.warnings),
                        "analysis_version": figures.analysis_version,
                    }
                )
            else:
                say(run_text(run_sheet(evaluated_run(run, figures))))
    if as_json:
        emit({"runs": documents})


def _why_without(run: Run, *, asked_for: bool) -> str:
    """Say why no figures are worked out for a run; empty if they are."""
    from rig.analysis.run.run_figures import usable_sweeps

    if run.void:
        return "has no figures: it is void"
    if not usable_sweeps(run):
        return "has no figures: it has no good sweep"
    if run.ended_at is None and not asked_for:
        return "has not ended; passed over"
    return ""


def _pair(run: Run) -> tuple[Sensor, Target]:
    return run.header.sensor, run.header.target


def _noises(
    reader: Reader, wanted: RunFilter
) -> dict[tuple[Sensor, Target], SensorNoise]:
    """Return the noise of each pair that has more than one run to pool."""
    from rig.analysis.edges.run_arrays import run_arrays
    from rig.analysis.run.pooled_threshold import noise_of_runs

    newest: defaultdict[tuple[Sensor, Target], deque[RunArrays]] = defaultdict(
        lambda: deque(maxlen=_POOLED_RUNS)
    )
    for run in reader.iter_runs(wanted):
        if not _why_without(run, asked_for=False):
            newest[_pair(run)].append(run_arrays(run))
    noises = {}
    for pair, arrays in newest.items():
        if len(arrays) < 2:
            continue
        try:
            noises[pair] = noise_of_runs(arrays)
        except ValueError as exc:
            name = f"{pair[0].name} against {pair[1].name}"
            click.echo(f"Noise of {name} is not pooled: {exc}.", err=True)
    return noises
