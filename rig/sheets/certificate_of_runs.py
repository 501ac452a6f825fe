"""What a certificate says of one run, or of one part by the runs that count."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rig.analysis.limits.verdict import Decision
from rig.inquiry.part_results import PartResults, SeenToFail
from rig.inquiry.parts_tried import PartWithout
from rig.inquiry.recorded_run import RecordedRun
from rig.model.attempts import Outcome
from rig.model.figure_kinds import KIND_OF_FIELD
from rig.model.rounding import FigureText, format_figure
from rig.model.sweeps import Run
from rig.sheets.bench_words import (
    NOT_RECORDED,
    Pairs,
    calibration_words,
    product_words,
    record_words,
    sensor_words,
    target_words,
    temperatures_words,
    utc,
)
from rig.sheets.certificate_matter import (
    NO_CELL,
    CertificateMatter,
    ResultRow,
    gravest,
)
from rig.sheets.figure_rows import not_included_words
from rig.sheets.signs import VERDICT_SIGNS
from rig.sheets.sweep_rows import speed_words
from rig.sheets.tried_sheet import as_sentence
from rig.sheets.verdict_rows import VerdictRow, verdict_table

TITLE = "Measurement certificate"
_METHOD = (
    "The target is moved along the axis towards the sensor and back; the controller"
    " latches the position of the motor at each edge of the output. Gap: distance from"
    " the face, found by touch-off"
)
_UNCERTAINTY = (
    "± is the expanded uncertainty U = k u_c for about 95 % coverage (JCGM 100)"
)
# Figures that a certificate names with or without limits, with the symbol of the
# verdict that names them already
_PLAIN = {"operate": "s_r", "release": "", "differential_travel_percent": "H"}
_MOST_NAMED = 3  # runs whose identities are written out


def matter_of_run(one: RecordedRun) -> CertificateMatter:
    """Say what a certificate says of one run."""
    run = one.run
    header = run.header
    verdict, sign = gravest(_decisions([one]))
    return CertificateMatter(
        title=TITLE,
        item=(
            ("Sensor", f"{header.sensor.name}: {sensor_words(header.sensor)}"),
            ("Part", header.part or NOT_RECORDED),
            ("Product", product_words(header.product)),
            ("Target", f"{header.target.name}: {target_words(header.target)}"),
        ),
        method=_method([one]),
        measured=_span([run]),
        verdict=verdict,
        sign=sign,
        about=_about([one]),
        rows=tuple(_rows(one, "")),
        conditions=(*_conditions([run]), *_evidence([one])),
        statements=_statements([one]),
        measured_by=_operators([run]),
        signatures=(),
        more="the report of the run",
        simulated=_simulated([run]),
    )


def matter_of_part(found: PartResults) -> CertificateMatter:
    """Say what a certificate says of one part, target by target."""
    runs = [one.run for one in found.runs]
    outcomes = [w.decision for w in found.without if w.decision is not None]
    outcomes += [Decision.DOES_NOT_CONFORM] * len(found.seen)
    verdict, sign = gravest((*_decisions(found.runs), *outcomes))
    rows = [_row_seen(one) for one in found.seen]
    rows += [_row_without(one) for one in found.without]
    for one in sorted(found.runs, key=_without_verdicts):
        rows += _rows(one, one.run.header.target.name)
    targets = dict.fromkeys(
        f"{run.header.target.name}: {target_words(run.header.target)}" for run in runs
    )
    return CertificateMatter(
        title=TITLE,
        item=(
            ("Sensor", f"{found.sensor.name}: {sensor_words(found.sensor)}"),
            ("Part", found.part),
            (
                "Product",
                "; ".join(
                    _different(product_words(run.header.product) for run in runs)
                ),
            ),
            ("Targets", "; ".join((*targets, *(w.batch for w in found.without)))),
        ),
        method=_method(found.runs),
        measured=_span(runs),
        verdict=verdict,
        sign=sign,
        about=(
            *(
                as_sentence(f"{w.batch}: {w.result}, {w.sentence}")
                for w in found.without
            ),
            *_about(found.runs),
        ),
        rows=tuple(rows),
        conditions=(*_conditions(runs), *_evidence(found.runs)),
        statements=(*found.statements, *_statements(found.runs)),
        measured_by=_operators(runs),
        signatures=(),
        more="the reports of the runs",
        simulated=_simulated(runs),
    )


def _without_verdicts(one: RecordedRun) -> bool:
    """Whether none of s_r, H and R could be held against its limits."""
    return one.standard is None or not one.standard.verdicts


def _decisions(found: Sequence[RecordedRun]) -> tuple[Decision, ...]:
    """Return what decides about the whole.

    A switching delay that is within its limit does not make a sensor conform where
    nothing else was held against limits.
    """
    return tuple(
        decision
        for one in found
        for decision in one.decisions
        if decision is not Decision.CONFORMS or not _without_verdicts(one)
    )


def _rows(one: RecordedRun, target: str) -> list[ResultRow]:
    """Lay out the verdicts of a run, then figures that have none.

    Args:
        one: The run.
        target: Name of the target, where there are several; empty for one.
    """
    before = f"{target}: " if target else ""
    if one.figures is None:
        return [_outcome_row(one, before)]
    table = () if one.standard is None else verdict_table(one.standard).rows
    rows = [_judged_row(row, before) for row in table]
    judged = () if one.standard is None else one.standard.verdicts
    for field, symbol in _PLAIN.items():
        if symbol not in judged:
            text = format_figure(getattr(one.figures, field))
            name = f"{before}{KIND_OF_FIELD[field].name}"
            rows.append(ResultRow(name=name, value=_value(text), basis=_basis(text)))
    return rows


def _judged_row(row: VerdictRow, before: str) -> ResultRow:
    symbol = f" {row.symbol}" if row.symbol else ""
    return ResultRow(
        name=f"{before}{row.name}{symbol}",
        value=_value(row.text),
        basis=_basis(row.text),
        limits=f"{row.limits} ({row.source})",
        decision=f"{row.sign} {row.decision}",
    )


def _outcome_row(one: RecordedRun, before: str) -> ResultRow:
    decided = [d for d in one.decisions if d is not Decision.NOT_TESTED]
    return ResultRow(
        name=f"{before}outcome",
        value=one.result,
        basis="no figures",
        decision=f"{VERDICT_SIGNS[decided[0]]} {decided[0]}" if decided else NO_CELL,
    )


def _row_without(one: PartWithout) -> ResultRow:
    decided = one.decision
    return ResultRow(
        name=f"{one.batch}: outcome",
        value=one.result,
        basis="no figures",
        decision=NO_CELL if decided is None else f"{VERDICT_SIGNS[decided]} {decided}",
    )


def _row_seen(one: SeenToFail) -> ResultRow:
    failing = Decision.DOES_NOT_CONFORM
    return ResultRow(
        name=f"judged by sight, lot {one.lot_id}",
        value="not measured",
        basis=one.reading.reason,
        decision=f"{VERDICT_SIGNS[failing]} {failing}",
    )


def _value(text: FigureText) -> str:
    return text.brief.replace(" (no ±)", "")


def _basis(text: FigureText) -> str:
    if text.why_none:
        return f"n = {text.n}; no U: {text.why_none}"
    return text.counts


def _about(found: Sequence[RecordedRun]) -> tuple[str, ...]:
    """Say what the verdict covers; where a run has no figures, what was seen."""
    by_words: dict[str, list[str]] = {}
    for one in found:
        words = []
        if one.ending.outcome is not Outcome.FIGURES:
            words.append(as_sentence(one.ending.sentence))
        elif one.standard is not None:
            rows = verdict_table(one.standard).rows
            if rows:
                words.append(f"{_looked_at(rows)}.")
            if not one.standard.verdicts:
                words.append(one.standard.statements[0])
        by_words.setdefault(" ".join(words), []).append(one.run.header.target.name)
    return tuple(f"On {', '.join(on)}: {words}" for words, on in by_words.items())


def _looked_at(rows: Sequence[VerdictRow]) -> str:
    """Say what was held against limits, and what was not tested."""
    names: dict[bool, list[str]] = {True: [], False: []}
    for row in rows:
        tested = row.decision != Decision.NOT_TESTED.value
        names[tested].append(row.symbol or row.name)
    told = f"held against limits: {', '.join(names[True]) or 'nothing'}"
    return f"{told}; not tested: {', '.join(names[False])}" if names[False] else told


def _statements(found: Sequence[RecordedRun]) -> tuple[str, ...]:
    warnings = [w for one in found if one.figures for w in one.figures.warnings]
    void = sum(bool(sweep.void) for one in found for sweep in one.run.sweeps)
    if void:
        total = sum(len(one.run.sweeps) for one in found)
        warnings.append(f"{void} of {total} sweeps are void and stand in no figure.")
    standard = [s for one in found if one.standard for s in one.standard.statements]
    left_out = [not_included_words()] if any(one.figures for one in found) else []
    return _different([*warnings, *standard, *left_out])


def _method(found: Sequence[RecordedRun]) -> Pairs:
    rules = _different(
        verdict_table(one.standard).rule for one in found if one.standard is not None
    )
    speeds = sorted({v for one in found for v in one.run.header.speeds_mm_s})
    at = ", ".join(speed_words(speed) for speed in speeds)
    moved = f"{_METHOD}; {at} mm/s." if at else f"{_METHOD}."
    return (
        ("Method", moved),
        ("Uncertainty", f"{_UNCERTAINTY}."),
        (
            "Decision rule",
            "; ".join(filter(None, rules)) or "none: no verdict is given",
        ),
    )


def _conditions(runs: Sequence[Run]) -> Pairs:
    every = [conditions for run in runs for conditions in run.conditions]
    if not every:
        return ()
    temperature = temperatures_words(every)
    unknown = [c.ambient_c is None for c in every]
    if any(unknown) and not all(unknown):
        temperature += f"; in part {NOT_RECORDED}"
    return (
        ("Temperature", temperature),
        ("Rig", "; ".join(_different(c.rig_id for c in every))),
        (
            "Calibration of the axis",
            "; ".join(_different(map(calibration_words, runs))),
        ),
    )


def _evidence(found: Sequence[RecordedRun]) -> Pairs:
    if not found:
        return ()
    states = "; ".join(_different(record_words(one.check) for one in found))
    ids = [one.run.header.run_id for one in found]
    runs = f"run {', '.join(ids)}"
    if len(ids) > _MOST_NAMED:
        runs = f"{len(ids)} runs, {ids[0]} to {ids[-1]}"
    return (("Evidence", f"{runs}; on record {states}"),)


def _span(runs: Sequence[Run]) -> str:
    if not runs:
        return NOT_RECORDED
    moments = [run.header.started_at for run in runs]
    return " to ".join(dict.fromkeys((utc(min(moments)), utc(max(moments)))))


def _operators(runs: Sequence[Run]) -> str:
    return ", ".join(
        _different(c.operator or NOT_RECORDED for r in runs for c in r.conditions)
    )


def _simulated(runs: Sequence[Run]) -> str:
    made = [any(c.simulated for c in run.conditions) for run in runs]
    if not any(made):
        return ""
    if all(made):
        return "No sensor was measured: a simulated rig made every result."
    return f"A simulated rig made {sum(made)} of {len(made)} runs behind this."


def _different(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
