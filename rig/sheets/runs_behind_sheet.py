"""The runs behind a batch, a study or a lot: bench, conditions and evidence."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from rig.inquiry.runs_behind import RunBehind
from rig.model.rounding import format_decimals, format_significant
from rig.model.sweeps import Conditions, Run
from rig.sheets.bench_words import (
    NOT_RECORDED,
    Pairs,
    axis_words,
    calibration_words,
    record_words,
    sensor_words,
    target_words,
    temperatures_words,
    utc,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class EvidenceRow:
    """What somebody needs who checks one run later."""

    part: str
    run_id: str
    simulated: bool
    started: str
    operator: str
    sweeps: str
    checksum: str
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsBehindSheet:
    """All that a page shows of the runs behind it.

    Attributes:
        sensors: All different ones, in words.
        targets: All different ones, in words.
        bench: Words about the bench of all runs together.
        conditions: Words about the conditions of all runs together.
        rows: One for every run.
        mixed: Whether only some of them are simulated.
        altered: Sentences on runs whose edges are not what they were.
        warnings: Sentences that go with the figures of the runs, with how many.
    """

    sensors: tuple[str, ...]
    targets: tuple[str, ...]
    bench: Pairs
    conditions: Pairs
    rows: tuple[EvidenceRow, ...]
    mixed: bool
    altered: tuple[str, ...]
    warnings: tuple[str, ...]


def runs_behind_sheet(found: Sequence[RunBehind]) -> RunsBehindSheet:
    """Lay out bench, conditions and evidence of runs."""
    runs = [one.run for one in found]
    headers = [run.header for run in runs]
    return RunsBehindSheet(
        sensors=_different(
            f"{h.sensor.name}: {sensor_words(h.sensor)}" for h in headers
        ),
        targets=_different(
            f"{h.target.name}: {target_words(h.target)}" for h in headers
        ),
        bench=_together([_bench(one) for one in found]),
        conditions=_conditions(runs) if runs else (),
        rows=(rows := tuple(_evidence(one) for one in found)),
        mixed=len({row.simulated for row in rows}) > 1,
        altered=tuple(
            f"R{one.check.sentence[1:]}." for one in found if one.check.changes
        ),
        warnings=_warnings(found),
    )


def _bench(one: RunBehind) -> Pairs:
    run = one.run
    conditions = run.header.conditions
    computed = one.computation
    return (
        ("Rig", conditions.rig_id + (", SIMULATED" if conditions.simulated else "")),
        ("Firmware", conditions.firmware_version),
        ("Protocol", conditions.protocol_version),
        *axis_words(conditions),
        ("Calibration of the axis", calibration_words(run)),
        ("Software that measured", run.header.software_version),
        ("Analysis", computed.figures.analysis_version if computed else "no figures"),
    )


def _together(benches: Sequence[Pairs]) -> Pairs:
    """Say each thing once, with how many runs have it where they differ."""
    told = []
    for same in zip(*benches, strict=True):
        values = [value for _, value in same]
        counts = Counter(values)
        texts = [
            value if len(counts) in (1, len(values)) else f"{value} ({count} runs)"
            for value, count in counts.items()
        ]
        told.append((same[0][0], "; ".join(texts)))
    return tuple(told)


def _conditions(runs: Sequence[Run]) -> Pairs:
    every = [conditions for run in runs for conditions in run.conditions]
    moments = sorted(run.header.started_at for run in runs)
    operators = _different(c.operator or NOT_RECORDED for c in every)
    return (
        ("Measured", _span(utc(moments[0]), utc(moments[-1]))),
        ("Operators", ", ".join(operators)),
        ("Temperature", _temperature(every)),
        (
            "Datum, standard uncertainty",
            _range(every, lambda c: c.datum.standard_uncertainty_mm),
        ),
        (
            "Touch probe, standard uncertainty",
            _range(every, lambda c: c.datum.probe_uncertainty_mm),
        ),
        ("Backlash", _backlash(every)),
        (
            "Backlash known by",
            ", ".join(_different(c.backlash.source.value for c in every)),
        ),
    )


def _temperature(every: Sequence[Conditions]) -> str:
    missing = sum(c.ambient_c is None for c in every)
    if not 0 < missing < len(every):
        return temperatures_words(every)
    left = f"{missing} of {len(every)} times {NOT_RECORDED}"
    return f"{temperatures_words(every)}; {left}"


def _backlash(every: Sequence[Conditions]) -> str:
    values = sorted(c.backlash.value_mm for c in every)
    # 0.1 µm is below a step
    span = _span(format_decimals(values[0], 4), format_decimals(values[-1], 4))
    uncertainty = _range(every, lambda c: c.backlash.standard_uncertainty_mm)
    return f"{span} mm, standard uncertainty {uncertainty}"


def _range(every: Sequence[Conditions], of: Callable[[Conditions], float]) -> str:
    values = sorted(of(conditions) for conditions in every)
    ends = [format_significant(values[0]), format_significant(values[-1])]
    return f"{_span(*ends)} mm"


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _evidence(one: RunBehind) -> EvidenceRow:
    run = one.run
    void = sum(bool(sweep.void) for sweep in run.sweeps)
    return EvidenceRow(
        part=run.header.part or "–",
        run_id=run.header.run_id,
        simulated=any(c.simulated for c in run.conditions),
        started=utc(run.header.started_at),
        operator=run.header.conditions.operator or NOT_RECORDED,
        sweeps=f"{len(run.sweeps) - void} used, {void} void",
        checksum=one.check.computed,
        state=record_words(one.check),
    )


def _warnings(found: Sequence[RunBehind]) -> tuple[str, ...]:
    told: dict[str, int] = {}
    for one in found:
        for sentence in one.computation.figures.warnings if one.computation else ():
            told[sentence] = told.get(sentence, 0) + 1
    return tuple(
        f"Of {count} of {len(found)} runs: {sentence}"
        for sentence, count in told.items()
    )


def _different(texts: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
