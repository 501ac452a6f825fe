"""What `gapsweep show` does: reads a run, decides, and says it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rig.analysis.limits.verdict import RULES, Rule
from rig.analysis.numbers.ratio import ratio, shared_contributions
from rig.analysis.standard.iec_60947_5_2 import (
    UsableDistance,
    not_the_standard_target,
    usable_distance,
)
from rig.analysis.standard.run_against_standard import (
    RunStandard,
    sensor_limits,
    standard_of_run,
)
from rig.cli.documents import emit, figure_document, run_document
from rig.cli.open_rig import open_store
from rig.cli.output import say
from rig.cli.text.run_text import budget_text, run_text, sweeps_text
from rig.cli.text.standard_text import (
    decisions_of,
    standard_document,
    standard_text,
    status_of,
    usable_document,
    usable_text,
    words_of,
)
from rig.errors import InputError
from rig.model.figures import Figure, RunFigures
from rig.model.sweeps import Run
from rig.records import EdgesCheck, Reader

_CHECK_WORDS = {
    True: "raw edges are as they were at the end of the run",
    False: "RAW EDGES WERE CHANGED after the end of the run",
    None: "the run never ended, so its edges have no checksum",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A run with all that is said of it.

    Attributes:
        run: The run.
        figures: Its figures; None if none were worked out.
        check: Of its raw edges.
        standard: What the standard makes of it; None without figures.
        reference: The run on the standard target; None if none was named.
        factor: The reduction factor against it; None likewise.
        usable: s_u and s_a; None if no other conditions were named.
    """

    run: Run
    figures: RunFigures | None
    check: EdgesCheck
    standard: RunStandard | None
    reference: Run | None
    factor: Figure | None
    usable: UsableDistance | None


def show_run(
    run_id: str,
    *,
    reference_id: str | None,
    under: Mapping[str, str],
    rule_name: str,
    records: str | None,
    as_json: bool,
) -> int:
    """Show a run and return the exit status.

    Raises:
        RigError: The run is not there, or runs do not go together.
    """
    rule = RULES[rule_name]
    with open_store(records, read_only=True) as store:
        reader = Reader(store)
        run, figures = reader.run(run_id), reader.latest_figures(run_id)
        standard = None if figures is None else standard_of_run(run, figures, rule)
        reference = None if reference_id is None else reader.run(reference_id)
        factor = None
        if reference is not None:
            known = reader.latest_figures(reference.header.run_id)
            factor = reduction_factor(run, figures, reference, known)
        shown = Shown(
            run=run,
            figures=figures,
            check=reader.verify(run_id),
            standard=standard,
            reference=reference,
            factor=factor,
            usable=_usable(reader, run, figures, under, rule) if under else None,
        )
    if as_json:
        emit(_document(shown))
    else:
        _say(shown)
    return status_of(decisions_of(standard, shown.usable))


def _usable(
    reader: Reader,
    run: Run,
    figures: RunFigures | None,
    under: Mapping[str, str],
    rule: Rule,
) -> UsableDistance:
    """Return s_u and s_a from runs of the same sensor under other conditions."""
    others = {name: reader.run(run_id) for name, run_id in under.items()}
    found = {}
    shared: frozenset[str] | None = None
    for name, other in others.items():
        known = reader.latest_figures(other.header.run_id)
        # Refuses void runs, runs without figures and runs of another sensor
        reduction_factor(run, figures, other, known)
        if other.header.target != run.header.target:
            raise InputError(f"run {other.header.run_id} is against another target")
        assert known is not None
        found[name] = known.operate
        common = shared_contributions(run.header.conditions, other.header.conditions)
        shared = common if shared is None else shared & common
    assert figures is not None
    sensor = run.header.sensor
    limits = sensor_limits(sensor)
    return usable_distance(
        figures.operate, found, sensor, limits, shared=shared or (), rule=rule
    )


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


def _document(shown: Shown) -> dict[str, Any]:
    document = run_document(shown.run, shown.figures)
    if shown.standard is not None:
        document |= standard_document(shown.standard)
    if shown.usable is not None:
        document["usable_distance"] = usable_document(shown.usable)
    if shown.reference is not None and shown.factor is not None:
        document["reduction_factor"] = {
            **figure_document(shown.factor),
            "against_run_id": shown.reference.header.run_id,
            "against_target": shown.reference.header.target.name,
            "statements": _remarks(shown.reference),
        }
    document["edges_checksum"] = shown.check.stored or None
    document["edges_intact"] = shown.check.intact
    return document


def _say(shown: Shown) -> None:
    say(run_text(shown.run, shown.figures))
    if shown.standard is not None:
        say("")
        say(standard_text(shown.standard))
    if shown.usable is not None:
        say(usable_text(shown.usable))
    if shown.reference is not None and shown.factor is not None:
        header = shown.reference.header
        against = f"{header.target.name}, run {header.run_id}"
        say("")
        say(f"reduction factor against {against}: {words_of(shown.factor)}")
        for sentence in _remarks(shown.reference):
            say(sentence)
    say("")
    say(sweeps_text(shown.run))
    if shown.figures is not None:
        say("")
        say(budget_text(shown.figures))
    say("")
    say(f"{_CHECK_WORDS[shown.check.intact]}; sha256 {shown.check.computed}")
