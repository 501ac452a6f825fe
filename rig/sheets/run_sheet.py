"""One run as rows, words and rounded numbers; every surface shows these."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.standard.iec_60947_5_2 import UsableDistance
from rig.inquiry.recorded_run import RecordedRun
from rig.inquiry.run_document import NO_FIGURES, Truth
from rig.model.attempts import Outcome
from rig.model.mounted import Datum
from rig.model.rounding import (
    FigureText,
    format_decimals,
    format_figure,
    format_significant,
    round_to_uncertainty,
)
from rig.model.sweeps import Conditions, Run, RunHeader
from rig.records import edges_checksum
from rig.records.notes import RunNote
from rig.sheets.bench_words import (
    NOT_RECORDED,
    Pairs,
    axis_words,
    backlash_words,
    bench_words,
    calibration_words,
    closing_words,
    declaration_words,
    home_words,
    places_words,
    product_words,
    record_words,
    sensor_words,
    supply_words,
    target_words,
    temperature_words,
    utc,
)
from rig.sheets.figure_rows import (
    BudgetTable,
    FigureRows,
    budget_table,
    budget_tables,
    figure_groups,
    not_included_words,
)
from rig.sheets.sweep_rows import SweepRow, gap_words, speed_words, sweep_rows
from rig.sheets.tried_sheet import attempt_sentences, verdict_word
from rig.sheets.verdict_rows import VerdictRow, VerdictTable, verdict_row, verdict_table

NO_VERDICTS = VerdictTable(rows=(), rule="", statements=())


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorRow:
    """The reduction factor against a run on another target.

    Attributes:
        against: Target and run that it is against.
        text: The factor.
        statements: Whole sentences that go with it.
    """

    against: str
    text: FigureText
    statements: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteRow:
    """One note to the run.

    Attributes:
        head: Number, time and author.
        text: What was written.
        withdrawn: When it was withdrawn; empty if it stands.
    """

    head: str
    text: str
    withdrawn: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSheet:
    """All that any surface shows of one run.

    Attributes:
        name: Sensor and target.
        part: Serial or sample number; empty if nobody gave it.
        lead: What sensor, what target and when, in one sentence.
        run_id: Identity in the records.
        started: When it began.
        simulated: Whether a simulated rig made it.
        good: How many sweeps of how many are good.
        void: Why the whole run is void; empty if it is not.
        ended: Whether it ended.
        outcome: How it ended if it has no figures and what that decides; empty if it
            has them.
        attempts: A sentence for each attempt; none if all went as they should.
        particulars: Who measured when, at what temperature, under what calibration,
            and what came of it.
        job: What was measured, by whom.
        bench: What it was measured with.
        proofs: What was looked at after the sweeps, for each set of conditions.
        condition_heads: One for every set of conditions.
        condition_rows: Name, then one value for every set.
        no_figures: Why there are no figures; empty if there are.
        figure_groups: All figures.
        verdicts: Verdicts against the standard or the data sheet.
        budgets: Budgets of all figures that have one.
        not_included: What no budget includes, as a sentence; empty without budgets.
        sweeps: All of them, void ones included.
        warnings: Whole sentences.
        factor: Reduction factor; None if no reference was named.
        usable: s_u at its ends and s_a; empty if no other conditions were named.
        usable_statements: Whole sentences that go with them.
        notes: Notes to the run, oldest first.
        record: Whether the run is as it was written.
        checksum: SHA-256 of the raw edges.
        evidence: Checksum and versions.
    """

    name: str
    part: str
    lead: str
    run_id: str
    started: str
    simulated: bool
    good: str
    void: str
    ended: bool
    outcome: str
    attempts: tuple[str, ...]
    particulars: Pairs
    job: Pairs
    bench: Pairs
    proofs: Pairs
    condition_heads: tuple[str, ...]
    condition_rows: tuple[tuple[str, tuple[str, ...]], ...]
    no_figures: str
    figure_groups: tuple[FigureRows, ...]
    verdicts: VerdictTable
    budgets: tuple[BudgetTable, ...]
    not_included: str
    sweeps: tuple[SweepRow, ...]
    warnings: tuple[str, ...]
    factor: FactorRow | None
    usable: tuple[VerdictRow, ...]
    usable_statements: tuple[str, ...]
    notes: tuple[NoteRow, ...]
    record: str
    checksum: str
    evidence: Pairs


def run_sheet(one: RecordedRun) -> RunSheet:
    """Put a run into words."""
    run, header, figures = one.run, one.run.header, one.figures
    good = sum(1 for sweep in run.sweeps if not sweep.void)
    return RunSheet(
        name=f"{header.sensor.name} against {header.target.name}",
        part=header.part,
        lead=_lead(header),
        run_id=header.run_id,
        started=utc(header.started_at),
        simulated=any(c.simulated for c in run.conditions),
        good=f"{good} of {header.sweeps_wanted}",
        void=run.void,
        ended=run.ended_at is not None,
        outcome=_outcome(one),
        attempts=attempt_sentences(one.attempts),
        particulars=_particulars(one),
        job=_job(run),
        bench=_bench(run),
        proofs=_proofs(run),
        condition_heads=_first_sweeps(run),
        condition_rows=_condition_rows(run),
        no_figures="" if figures else NO_FIGURES,
        figure_groups=figure_groups(figures, header.timetable) if figures else (),
        verdicts=verdict_table(one.standard) if one.standard else NO_VERDICTS,
        budgets=_budgets(one),
        not_included=not_included_words() if figures else "",
        sweeps=sweep_rows(one.readings),
        warnings=_warnings(one),
        factor=_factor(one),
        usable=_usable(one.usable),
        usable_statements=tuple(
            f"{words[0].upper()}{words[1:]}."
            for words in (one.usable.statements if one.usable else ())
        ),
        notes=tuple(_note(note) for note in one.notes),
        record=record_words(one.check),
        checksum=edges_checksum(run) if one.check is None else one.check.computed,
        evidence=_evidence(one),
    )


def _outcome(one: RecordedRun) -> str:
    if one.ending.outcome is Outcome.FIGURES:
        return ""
    return f"{one.result}, {verdict_word(one.decision_of_ending)}"


def truth_rows(truth: Truth) -> Pairs:
    """Lay out what a simulated rig knows of itself, exact in the simulation."""
    known = (
        ("threshold, operate", truth.threshold_operate_mm),
        ("threshold, release", truth.threshold_release_mm),
        ("observed, operate", truth.observed_operate_mm),
        ("observed, release", truth.observed_release_mm),
    )
    return tuple(
        (name, "none" if value is None else f"{gap_words(value)} mm")
        for name, value in known
    )


def _budgets(one: RecordedRun) -> tuple[BudgetTable, ...]:
    tables = budget_tables(one.figures) if one.figures else ()
    if one.factor is None:
        return tables
    return (*tables, budget_table("reduction factor", one.factor))


def _factor(one: RecordedRun) -> FactorRow | None:
    found = one.factor
    if found is None:
        return None
    return FactorRow(
        against=f"{found.against_target}, run {found.against_run_id}",
        text=format_figure(found),
        statements=found.statements,
    )


def _usable(found: UsableDistance | None) -> tuple[VerdictRow, ...]:
    if found is None:
        return ()
    ends = (("smallest", found.smallest), ("largest", found.largest))
    rows = [
        verdict_row(verdict, symbol="s_u / s_r", name=f"{which}, under {under}")
        for which, (under, verdict) in ends
    ]
    assured = verdict_row(
        found.assured, symbol="s_a", name="assured operating distance"
    )
    return (*rows, assured)


def _note(note: RunNote) -> NoteRow:
    by = f" {note.author}" if note.author else ""
    return NoteRow(
        head=f"{note.entry + 1}. {utc(note.entered_at)}{by}",
        text=note.text,
        withdrawn=_withdrawn(note),
    )


def _withdrawn(note: RunNote) -> str:
    if note.withdrawn_at is None:
        return ""
    by = f" by {note.withdrawn_by}" if note.withdrawn_by else ""
    why = f": {note.why_withdrawn}" if note.why_withdrawn else ""
    return f"withdrawn {utc(note.withdrawn_at)}{by}{why}"


def _lead(header: RunHeader) -> str:
    return (
        f"{sensor_words(header.sensor)}; against {target_words(header.target)};"
        f" measured {utc(header.started_at)}."
    )


def _job(run: Run) -> Pairs:
    header = run.header
    conditions = header.conditions
    return (
        ("Sensor", f"{header.sensor.name}: {sensor_words(header.sensor)}"),
        ("Product", product_words(header.product)),
        ("Part", header.part or NOT_RECORDED),
        ("Target", f"{header.target.name}: {target_words(header.target)}"),
        ("Operator", conditions.operator or NOT_RECORDED),
        ("Note", conditions.note or "none"),
        ("Run", header.run_id),
        ("Started", utc(header.started_at)),
        ("Ended", utc(run.ended_at) if run.ended_at else "not ended"),
        (
            "Sweeps",
            f"{header.sweeps_wanted} wanted, {len(run.sweeps)} made, at "
            + ", ".join(speed_words(speed) for speed in header.speeds_mm_s)
            + " mm/s",
        ),
    )


def _particulars(one: RecordedRun) -> Pairs:
    run, header = one.run, one.run.header
    return (
        ("Operator", header.conditions.operator or NOT_RECORDED),
        ("Measured", utc(header.started_at)),
        ("Temperature", temperature_words(header.conditions)),
        *_supply_pairs(run, header.conditions),
        *_scale_pairs(run, header.conditions),
        ("Calibration of the axis", calibration_words(run)),
        ("Verdict", verdict_word(one.verdict)),
    )


def _bench(run: Run) -> Pairs:
    conditions = run.header.conditions
    return (
        ("Rig", conditions.rig_id + (", SIMULATED" if conditions.simulated else "")),
        ("Firmware", conditions.firmware_version),
        ("Protocol", conditions.protocol_version),
        *axis_words(conditions),
        ("Lost steps", home_words(run)),
    )


def _proofs(run: Run) -> Pairs:
    heads = _first_sweeps(run) if run.later_conditions else ("",)
    closings = [
        (
            f"Datum, touched again{f' ({head})' if head else ''}",
            closing_words(run, index),
        )
        for index, head in enumerate(heads)
    ]
    return (*closings, ("Lost steps", home_words(run)))


def _first_sweeps(run: Run) -> tuple[str, ...]:
    """Name each set of conditions by the first sweep that was taken under it."""
    names = []
    for k in range(len(run.conditions)):
        first = next((s.index for s in run.sweeps if s.conditions_index == k), None)
        names.append("no sweep" if first is None else f"from sweep {first + 1}")
    return tuple(names)


def _condition_rows(
    run: Run,
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    columns = [_condition_pairs(run, k) for k in range(len(run.conditions))]
    return tuple(
        (cells[0][0], tuple(value for _, value in cells))
        for cells in zip(*columns, strict=True)
    )


def _condition_pairs(run: Run, index: int) -> Pairs:
    conditions = run.conditions[index]
    datum = conditions.datum
    steps_per_mm = conditions.axis.steps_per_mm
    return (
        ("Datum, from home", f"{format_decimals(datum.position_steps, 1)} steps"),
        (
            "Datum, standard uncertainty",
            f"{format_significant(datum.standard_uncertainty_mm)} mm"
            f" ({format_significant(datum.standard_uncertainty_mm * steps_per_mm)}"
            f" steps), n = {datum.n} touches",
        ),
        (
            "Touch probe, standard uncertainty",
            f"{format_significant(datum.probe_uncertainty_mm)} mm"
            f" ({declaration_words(conditions.bench)})",
        ),
        ("Touch probe, delay", _delay_words(datum)),
        ("Touch-off", utc(datum.found_at)),
        ("Datum, touched again", closing_words(run, index)),
        ("Backlash", backlash_words(conditions.backlash)),
        *_scale_pairs(run, conditions),
        ("Calibration of the axis", calibration_words(run, index)),
        ("Bench", bench_words(conditions.bench)),
        ("Temperature", temperature_words(conditions)),
        *_supply_pairs(run, conditions),
        ("Controller start", f"number {conditions.boot_number}"),
    )


def _supply_pairs(run: Run, conditions: Conditions) -> Pairs:
    """Say what the sensor was fed with, where somebody asked for a voltage."""
    if all(one.set_supply_v is None for one in run.conditions):
        return ()
    return (("Supply", supply_words(conditions)),)


def _scale_pairs(run: Run, conditions: Conditions) -> Pairs:
    """Say what places are from, where any of the run's conditions has a scale."""
    if all(one.axis.scale_counts_per_mm is None for one in run.conditions):
        return ()
    return (("Places", places_words(conditions.axis)),)


def _delay_words(datum: Datum) -> str:
    """Say what the delay of the probe did to the datum, and whether it was measured."""
    if datum.late_uncertainty_mm is None:
        return "not measured; as declared or assumed of the bench"
    value, _ = round_to_uncertainty(
        1000.0 * datum.late_mm, 1000.0 * datum.late_uncertainty_mm
    )
    return (
        f"{value} µm at the touch speed, by touches at two speeds; taken off datum and"
        " backlash; standard uncertainty"
        f" {format_significant(1000.0 * datum.late_uncertainty_mm)} µm"
    )


def _warnings(one: RecordedRun) -> tuple[str, ...]:
    said = []
    if one.run.void:
        said.append(f"The whole run is void: {one.run.void}.")
    if one.check is not None and one.check.changes:
        said.append(f"R{one.check.sentence[1:]}.")
    if one.figures is not None:
        said += one.figures.warnings
    return tuple(dict.fromkeys(said))


def _evidence(one: RecordedRun) -> Pairs:
    run, figures = one.run, one.figures
    edges = sum(len(s.edges) for s in run.sweeps)
    return (
        (f"SHA-256 of the {edges} edges", edges_checksum(run)),
        ("On record", record_words(one.check)),
        ("Software that measured", run.header.software_version),
        ("Analysis version", figures.analysis_version if figures else "no figures"),
        ("Protocol version", run.header.conditions.protocol_version),
        ("Firmware version", run.header.conditions.firmware_version),
    )
