"""What `gapsweep show` does: reads a run, decides, and says it."""

from __future__ import annotations

from typing import Any

from rig.analysis.ratio import ratio, shared_contributions
from rig.analysis.run_standard import RunStandard, standard_of_run
from rig.analysis.standard import not_the_standard_target
from rig.cli.documents import emit, figure_document, run_document
from rig.cli.output import say
from rig.cli.session import open_store
from rig.cli.standard_text import (
    rule_of,
    standard_document,
    standard_text,
    status_of,
    words_of,
)
from rig.cli.text import budget_text, run_text, sweeps_text
from rig.errors import InputError
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run
from rig.records import EdgesCheck, Reader

_CHECK_WORDS = {
    True: "raw edges are as they were at the end of the run",
    False: "RAW EDGES WERE CHANGED after the end of the run",
    None: "the run never ended, so its edges have no checksum",
}


def show_run(
    run_id: str,
    *,
    reference_id: str | None,
    rule_name: str,
    records: str | None,
    as_json: bool,
) -> int:
    """Show a run and return the exit status.

    Raises:
        RigError: The run is not there, or the two runs do not go together.
    """
    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        run = reader.run(run_id)
        figures = reader.latest_figures(run_id)
        check = reader.verify(run_id)
        reference = None if reference_id is None else reader.run(reference_id)
        other = None if reference_id is None else reader.latest_figures(reference_id)
    found = (
        None if figures is None else standard_of_run(run, figures, rule_of(rule_name))
    )
    factor = None
    if reference is not None:
        factor = reduction_factor(run, figures, reference, other)
    if as_json:
        emit(_document(run, figures, check, found, reference, factor))
    else:
        _say(run, figures, check, found, reference, factor)
    if found is None:
        return 0
    return status_of([verdict.decision for verdict in found.verdicts.values()])


def reduction_factor(
    run: Run,
    figures: RunFigures | None,
    reference: Run,
    reference_figures: RunFigures | None,
) -> Figure:
    """Return the operate point over that of a run on the standard target.

    Raises:
        InputError: A run has no figures or is void, or the sensors are not the same.
    """
    for one, known in ((run, figures), (reference, reference_figures)):
        run_id = one.header.run_id
        if known is None:
            raise InputError(
                f"run {run_id} has no figures",
                hint=f"`gapsweep recompute {run_id}` works them out",
            )
        if one.void:
            raise InputError(f"run {run_id} is void: {one.void}")
    assert figures is not None
    assert reference_figures is not None
    a, b = run.header, reference.header
    if (a.sensor.name, a.part) != (b.sensor.name, b.part):
        raise InputError(
            f"run {a.run_id} is of {a.sensor.name} {a.part or 'without a part'}, run"
            f" {b.run_id} of {b.sensor.name} {b.part or 'without a part'}",
            hint="a reduction factor is that of one sensor on two targets",
        )
    return ratio(
        figures.operate,
        reference_figures.operate,
        shared=shared_contributions(a.conditions, b.conditions),
        labels=(a.target.name, b.target.name),
    )


def _remarks(reference: Run) -> list[str]:
    header = reference.header
    return [
        f"The reference is not the standard target: {reason}."
        for reason in not_the_standard_target(header.target, header.sensor)
    ]


def _document(
    run: Run,
    figures: RunFigures | None,
    check: EdgesCheck,
    found: RunStandard | None,
    reference: Run | None,
    factor: Figure | None,
) -> dict[str, Any]:
    document = run_document(run, figures)
    if found is not None:
        document |= standard_document(found)
    if reference is not None and factor is not None:
        document["reduction_factor"] = {
            **figure_document(factor),
            "against_run_id": reference.header.run_id,
            "against_target": reference.header.target.name,
            "statements": _remarks(reference),
        }
    document["edges_checksum"] = check.stored or None
    document["edges_intact"] = check.intact
    return document


def _say(
    run: Run,
    figures: RunFigures | None,
    check: EdgesCheck,
    found: RunStandard | None,
    reference: Run | None,
    factor: Figure | None,
) -> None:
    say(run_text(run, figures))
    if found is not None:
        say("")
        say(standard_text(found))
    if reference is not None and factor is not None:
        say("")
        against = f"{reference.header.target.name}, run {reference.header.run_id}"
        say(f"reduction factor against {against}: {words_of(factor)}")
        for sentence in _remarks(reference):
            say(sentence)
    say("")
    say(sweeps_text(run))
    if figures is not None:
        say("")
        say(budget_text(figures))
    say("")
    say(f"{_CHECK_WORDS[check.intact]}; sha256 {check.computed}")
