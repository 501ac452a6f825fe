"""What each kind of report is made from, by hand, of an invented lot."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from rig.analysis.acceptance.sequential import guidance
from rig.analysis.acceptance.switching_rules import SwitchingState
from rig.analysis.batch.batch_summary import summarise_parts
from rig.analysis.limits.verdict import GUARDED, Limits, verdict
from rig.analysis.run.run_figures import run_figures
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_layout import StudyReadings
from rig.analysis.study.study_results import (
    average_and_range,
    study_intervals,
    study_plots,
)
from rig.catalogue.letterhead_file import Letterhead
from rig.inquiry.batch import BatchOptions, BatchResult, batch_of_parts
from rig.inquiry.lot import LotStanding
from rig.inquiry.lot_curve import curve_of_plan
from rig.inquiry.lot_evidence import LotEvidence
from rig.inquiry.lot_inspection import inspection_of
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_trail import NO_TRAIL, LotTrail
from rig.inquiry.nonconformity import NonconformityLetter, nonconformity_of
from rig.inquiry.part_errors import errors_in_common
from rig.inquiry.parts import PartFigure, Parts
from rig.inquiry.plan import PlanResult, plan_of_runs
from rig.inquiry.recorded_run import evaluated_run
from rig.inquiry.run_comparison import RunComparison, run_comparison
from rig.inquiry.runs_behind import RunBehind
from rig.inquiry.study import StudyResult
from rig.inquiry.supplier_history import ProductHistory, history_of
from rig.model.calibration import AxisCalibration
from rig.model.figures import Figure
from rig.model.mounted import Target
from rig.model.plain import plain
from rig.model.sweeps import Edge, Run
from rig.records import (
    Computation,
    PlanEntry,
    PlanItem,
    PlanState,
    RunCheck,
    RunSummary,
    edges_checksum,
)
from rig.records.entries import ItemProgress
from rig.records.lot_entries import LotEntry, LotPart, Signature, StoredDecision
from rig.records.studies import StudyEntry, StudyReading, StudyRow
from rig.records.trail_book import TrailEntry
from rig.records.trail_chain import ChainCheck
from rig.report.batch_page import batch_report
from rig.report.comparison_page import comparison_report
from rig.report.history_page import history_report
from rig.report.lot_page import lot_report
from rig.report.nonconformity_page import nonconformity_report
from rig.report.plan_page import plan_report
from rig.report.study_page import study_report

from .conftest import BEGUN, MADE, make_run, report
from .gauge_kinds import GAUGE_RESULTS, of_components, page_of_gauge

LIMITS = Limits(lower=3.98, upper=4.02, unit="mm", source="agreed for the lot")
PLATE = Target(name="reference plate", material="steel", thickness_mm=1.0, earthed=True)
TARGETS = (
    PLATE,
    Target(name="pvc", material="pvc", thickness_mm=3.0),
    Target(
        name="cell of wheat",
        material="wheat",
        thickness_mm=60.0,
        wall_material="pp",
        wall_mm=0.5,
    ),
)
VALID = AxisCalibration(
    calibration_id="cal-1",
    rig_id="bench-1",
    certificate="AX 17",
    calibrated_on=date(2024, 1, 10),
    due_on=date(2025, 1, 10),
    positions_mm=(0.0, 10.0, 20.0),
    corrections_mm=(0.0, 0.001, 0.002),
    standard_uncertainty_mm=(0.001, 0.001, 0.001),
)


def calibrated(run: Run, calibration: AxisCalibration = VALID) -> Run:
    conditions = replace(run.header.conditions, calibration=calibration)
    return replace(run, header=replace(run.header, conditions=conditions))


def part_run(
    number: int, *, shift: int = 0, target: Target = PLATE, simulated: bool = True
) -> Run:
    """The usual run, of a part, all edges so many steps nearer to the face."""
    run = make_run(simulated=simulated, run_id=f"run-{number}-{target.name}")

    def moved(edge: Edge | None) -> Edge | None:
        return edge and replace(edge, position_steps=edge.position_steps + shift)

    sweeps = tuple(
        replace(
            s,
            operate=moved(s.operate),
            release=moved(s.release),
            edges=tuple(moved(e) for e in s.edges if e),
        )
        for s in run.sweeps
    )
    header = replace(run.header, part=f"P{number}", target=target)
    return replace(run, header=header, sweeps=sweeps)


def behind(run: Run, *, intact: bool | None = True) -> RunBehind:
    checksum = edges_checksum(run)
    stored = {True: checksum, False: "0" * 64, None: ""}[intact]
    run_id = run.header.run_id
    return RunBehind(
        run=run,
        computation=Computation(
            run_id=run_id,
            figures=run_figures(run),
            software_version="0.1.0",
            computed_at=BEGUN,
        ),
        check=RunCheck(
            run_id=run_id,
            stored=stored,
            computed=checksum,
            changes=("sweep 0 was altered",) if intact is False else (),
        ),
    )


@functools.cache
def part_runs(count: int = 12) -> tuple[RunBehind, ...]:
    shifts = (0, 9, -7, 4, -12, 15, 2, -4, 7, -9, 12, -30)
    return tuple(behind(part_run(k + 1, shift=shifts[k % 12])) for k in range(count))


def operate(one: RunBehind) -> Figure:
    assert one.computation is not None
    return one.computation.figures.operate


def part_figure(one: RunBehind, batch: str) -> PartFigure:
    header, found = one.run.header, operate(one)
    return PartFigure(
        part=header.part,
        value=found.value,
        expanded_uncertainty=found.expanded_uncertainty,
        unit="mm",
        batch=batch,
        run_id=header.run_id,
        reference_run_id="",
        simulated=header.conditions.simulated,
    )


def parts_of(runs: tuple[RunBehind, ...], *names: str) -> Parts:
    """The runs as parts, shared out among the batches."""
    each = len(runs) // len(names)
    return Parts(
        parts=tuple(part_figure(one, names[k // each]) for k, one in enumerate(runs)),
        figure="operate",
        sensor=runs[0].run.header.sensor,
        standard_target=True,
        runs=runs,
        tables=(),
        run_warnings={},
        statements=("batch: 1 earlier run is not used.",),
        common=tuple(
            errors_in_common(operate(one), one.run.header.conditions, one_datum=False)
            for one in runs
        ),
    )


def batch_result(
    runs: tuple[RunBehind, ...] | None = None,
    *names: str,
    options: BatchOptions | None = None,
) -> BatchResult:
    return batch_of_parts(
        parts_of(part_runs() if runs is None else runs, *(names or ("batch",))),
        options or BatchOptions(lower=LIMITS.lower, upper=LIMITS.upper, subgroup=3),
    )


def two_batches() -> BatchResult:
    return batch_result(None, "first", "second")


def batch_of_a_table() -> BatchResult:
    values = {"A": 8.0, "B": 8.01, "C": 7.99, "D": 8.02}
    parts = tuple(
        PartFigure(
            part=name,
            value=value,
            expanded_uncertainty=None,
            unit="mm",
            batch="lot",
            run_id="",
            reference_run_id="",
            simulated=False,
        )
        for name, value in values.items()
    )
    collected = Parts(
        parts=parts,
        figure="operate",
        sensor=None,
        standard_target=False,
        runs=(),
        tables=("lot.csv",),
        common=None,
        run_warnings={},
        statements=(),
    )
    return batch_of_parts(collected, BatchOptions())


def study_block() -> np.ndarray:
    """5 parts, 3 appraisers, 2 trials; scatter by hand."""
    parts = np.array([7.90, 7.95, 8.00, 8.05, 8.10])[:, None, None]
    appraisers = np.array([0.0, 0.004, -0.006])[None, :, None]
    scatter = np.array([3, -2, 1, 4, -3, 2, 0, -4, 2, -1] * 3).reshape(5, 3, 2)
    return parts + appraisers + 0.001 * scatter


def study_result(*, simulated: bool = False) -> StudyResult:
    block = study_block()
    parts = tuple(f"part {k}" for k in range(1, 6))
    appraisers = ("set-up A", "set-up B", "set-up C")
    rows, readings = [], {}
    for order, place in enumerate(np.ndindex(block.shape), start=1):
        p, o, r = place
        row = StudyRow(order=order, trial=r + 1, appraiser=appraisers[o], part=parts[p])
        rows.append(row)
        readings[order] = StudyReading(
            order=order,
            value=float(block[place]),
            unit="mm",
            run_id="run-1-reference plate" if simulated and order == 1 else "",
            simulated=simulated and order == 1,
            entered_at=BEGUN,
        )
    crossed = crossed_study(block)
    return StudyResult(
        title="Bench 1, level sensors",
        entry=StudyEntry(
            study_id="study-1",
            title="Bench 1, level sensors",
            figure="operate",
            unit="mm",
            seed=3,
            rows=tuple(rows),
            begun_at=BEGUN,
        ),
        readings=readings,
        study=StudyReadings(
            parts=parts, appraisers=appraisers, readings=block, unit="mm"
        ),
        crossed=crossed,
        ranges=average_and_range(block),
        intervals=study_intervals(crossed, draws=2000),
        plots=study_plots(block, crossed.spreads),
        runs=part_runs()[:1] if simulated else (),
    )


def lot_part(one: RunBehind, minute: int = 0) -> LotPart:
    found = verdict(operate(one), LIMITS, GUARDED)
    return LotPart(
        part=one.run.header.part,
        decision=found.decision.value,
        reason=found.sentence,
        value=found.figure.value,
        expanded_uncertainty=found.figure.expanded_uncertainty,
        unit="mm",
        run_id=one.run.header.run_id,
        simulated=one.run.header.conditions.simulated,
        entered_at=BEGUN + timedelta(minutes=minute),
    )


def seen_part(name: str = "P99", minute: int = 50) -> LotPart:
    return LotPart(
        part=name,
        decision="does not conform",
        reason="thread damaged",
        value=None,
        expanded_uncertainty=None,
        unit="",
        run_id="",
        simulated=False,
        entered_at=BEGUN + timedelta(minutes=minute),
    )


def lot_entry(method: str = "attributes") -> LotEntry:
    return LotEntry(
        lot_id="lot-1",
        product="level-18",
        supplier="supplier 2",
        size=90,
        terms={"method": method},
        resubmitted=False,
        operator="inspector 4",
        begun_at=BEGUN,
    )


def lot_terms(method: str = "attributes") -> LotTerms:
    by_attributes = method == "attributes"
    return LotTerms(
        method=method,
        size=90,
        level="II" if by_attributes else "",
        severity="normal",
        aql_percent=6.5 if by_attributes else 1.0,
        sample=None if by_attributes else 10,
        figure="operate",
        lower=LIMITS.lower,
        upper=LIMITS.upper,
        rule="guarded",
    )


def lot_decision(*, accepted: bool, discontinued: bool = False) -> StoredDecision:
    state = SwitchingState(reason="score 3", discontinued=discontinued)
    return StoredDecision(
        lot_id="lot-1",
        accepted=accepted,
        sentence="lot of 90: 1 nonconforming of 13, Ac 2, Re 3",
        document={"switching_state": state.as_record()},
        simulated=True,
        decided_at=datetime(2024, 5, 6, 11, 0, tzinfo=UTC),
    )


def lot_standing(**changes: object) -> LotStanding:
    parts = (*(lot_part(one, k) for k, one in enumerate(part_runs())), seen_part())
    terms = lot_terms()
    standing = LotStanding(
        lot=lot_entry(),
        terms=terms,
        parts=parts,
        guidance=guidance(terms.attribute_plan(), measured=11, nonconforming=2),
        decision=lot_decision(accepted=True),
        state=SwitchingState(),
        signatures=(lot_signature(),),
    )
    found = replace(standing, **changes)
    return found if "readings" in changes else replace(found, readings=found.parts)


def lot_trail(parts: tuple[LotPart, ...]) -> LotTrail:
    """A part that failed and was inspected again, then the decision, signed."""
    rows = [
        {**plain(part), "person": "inspector 4"}
        for part in (replace(parts[0], decision="does not conform"), parts[0])
    ]
    decided, signed = {"accepted": True}, {"meaning": "inspected"}
    steps: list[tuple[str, str, str, dict[str, Any] | None, dict[str, Any]]] = [
        ("part inspected", "", "", None, {"part": rows[0]}),
        (
            *("part inspected again", "R. Vance", "askew"),
            *({"part": rows[0]}, {"part": rows[1]}),
        ),
        ("decided", "", "1 nonconforming of 13", None, {"decision": decided}),
        ("signed", "", "I inspected it", None, {"signature": signed}),
    ]
    entries = tuple(
        TrailEntry(
            entry=number,
            kind="lot",
            subject="lot-1",
            action=action,
            person="inspector 4",
            authority=authority,
            reason=reason,
            before=before,
            after=after,
            at=BEGUN,
            hash=f"{number:064x}",
        )
        for number, (action, authority, reason, before, after) in enumerate(steps, 7)
    )
    check = ChainCheck(entries=10, head=entries[-1].hash, faults=())
    return LotTrail(kept=True, entries=entries, check=check, fault="")


def lot_signature() -> Signature:
    return Signature(
        person="inspector 4",
        meaning="inspected",
        statement="I inspected it",
        at=BEGUN,
        entry=10,
        hash=f"{10:064x}",
    )


def lot_evidence(**changes: object) -> LotEvidence:
    """A lot with its evidence; changes may be of its standing as well."""
    names = {field.name for field in fields(LotStanding)}
    own = {name: changes.pop(name) for name in names & changes.keys()}
    standing = lot_standing(**own)
    measured = [part for part in standing.parts if part.value is not None]
    found = LotEvidence(
        standing=standing,
        curve=curve_of_plan(
            standing.terms.plan,
            inspection_of(standing.terms.plan, "guarded", standing.parts),
            lot_id="lot-1",
        ),
        limits={"operate": LIMITS},
        rule=GUARDED.name,
        summary=(
            summarise_parts(
                "the sample",
                [part.part for part in measured],
                [part.value for part in measured],
                unit="mm",
            )
            if measured
            else None
        ),
        runs=part_runs(),
        trail=lot_trail(standing.parts) if standing.parts else NO_TRAIL,
    )
    return replace(found, **changes)


def lot_by_variables() -> LotEvidence:
    parts = tuple(
        replace(lot_part(one), run_id="", simulated=False) for one in part_runs(10)
    )
    return lot_evidence(
        lot=lot_entry("variables"),
        terms=lot_terms("variables"),
        parts=parts,
        guidance=None,
        decision=None,
        runs=(),
    )


def summary_of(run: Run) -> RunSummary:
    header = run.header
    return RunSummary(
        run_id=header.run_id,
        sensor=header.sensor.name,
        target=header.target.name,
        material=header.target.material,
        simulated=header.conditions.simulated,
        started_at=header.started_at,
        ended_at=run.ended_at,
        sweeps_wanted=header.sweeps_wanted,
        good_sweeps=9,
        void_sweeps=1,
        void="",
        plan_id="plan-1",
        plan_item=header.plan_item,
        part=header.part,
    )


def plan_of_targets(targets: tuple[Target, ...] = TARGETS) -> PlanResult:
    """Every target measured but the last."""
    runs = []
    for index, target in enumerate(targets[:-1]):
        run = part_run(1, shift=1000 * index, target=target)
        header = replace(run.header, plan_id="plan-1", plan_item=index)
        runs.append(behind(replace(run, header=header)))
    items = tuple(
        PlanItem(
            index=index,
            sensor=runs[0].run.header.sensor,
            target=target,
            sweeps_wanted=10,
            speeds_mm_s=(1.0, 4.0),
            part="P1",
        )
        for index, target in enumerate(targets)
    )
    return plan_of_runs(
        PlanEntry(
            plan_id="plan-1",
            title="Materials of week 12",
            toml_text="",
            created_at=BEGUN,
            simulated=True,
            items=items,
            state=PlanState.STOPPED,
        ),
        tuple(
            ItemProgress(
                item=item,
                runs=tuple(
                    summary_of(one.run)
                    for one in runs
                    if one.run.header.plan_item == item.index
                ),
            )
            for item in items
        ),
        tuple(runs),
    )


def page_of_batch(result: BatchResult, title: str = "Batch of sensors") -> str:
    return batch_report(result, title=title, generated_at=MADE)


def page_of_study(result: StudyResult, title: str = "Study") -> str:
    return study_report(result, title=title, generated_at=MADE)


def page_of_lot(found: LotEvidence, title: str = "Lot") -> str:
    return lot_report(found, title=title, generated_at=MADE)


def page_of_plan(result: PlanResult, title: str = "Plan") -> str:
    return plan_report(result, title=title, generated_at=MADE)


def history_of_lots() -> ProductHistory:
    """Twelve lots of one supplier and two of another, invented."""
    counts = (0, 1, 0, 2, 1, 0, 1, 2, 1, 3, 2, 6)
    standings = []
    for week, failing in enumerate((*counts, 0, 1)):
        measured = [lot_part(one) for one in part_runs(13)]
        reason = " does not conform against " * 2
        parts = tuple(
            replace(
                one,
                part=f"P{k}",
                decision="does not conform" if k < failing else "conforms",
                reason=reason if k < failing else "conforms",
                value=one.value + 0.0007 * week * (-1) ** week,
                simulated=week == 3,
            )
            for k, one in enumerate(measured)
        )
        begun = BEGUN + timedelta(weeks=week)
        supplier = "supplier 2" if week < len(counts) else "supplier 3"
        lot = replace(
            lot_entry(), lot_id=f"lot-{week}", supplier=supplier, begun_at=begun
        )
        decision = lot_decision(accepted=failing < 3)
        standings.append(lot_standing(lot=lot, parts=parts, decision=decision))
    return history_of(standings, "level-18")


HEAD = Letterhead(
    name="Harbour Sensor Laboratory",
    address=("12 Mill Road", "Leeds LS1 2AB"),
    location="",
    note="",
    logo=None,
)


def failing_lot() -> LotEvidence:
    """A lot of which one part fails by its run and one by sight."""
    bad = part_run(13, shift=200)
    runs = (*part_runs(), behind(bad))
    parts = (*(lot_part(one, k) for k, one in enumerate(runs)), seen_part())
    return lot_evidence(
        parts=parts, runs=runs, decision=replace(lot_decision(accepted=False))
    )


def nonconformity_letter() -> NonconformityLetter:
    return NonconformityLetter(
        number="N-2024-0003",
        found=nonconformity_of(failing_lot()),
        letterhead=HEAD,
        issued_at=MADE,
    )


def page_of_history(found: ProductHistory, title: str = "Lots") -> str:
    return history_report(found, title=title, generated_at=MADE)


def page_of_nonconformity(
    letter: NonconformityLetter, title: str = "Nonconformity report"
) -> str:
    return nonconformity_report(letter, title=title, generated_at=MADE)


def compared_runs() -> RunComparison:
    """The usual run, and an hour later the same under a calibration."""
    earlier = make_run()
    later = calibrated(make_run(run_id="run-20240506-090000"))
    begun = later.header.started_at + timedelta(hours=1)
    later = replace(later, header=replace(later.header, started_at=begun))
    return run_comparison(
        *(evaluated_run(run, run_figures(run)) for run in (earlier, later))
    )


def page_of_comparison(found: RunComparison, title: str = "Two runs") -> str:
    return comparison_report(found, title=title, generated_at=MADE)


KINDS: dict[str, Callable[[], str]] = {
    "run": lambda: report(calibrated(make_run())),
    "comparison": lambda: page_of_comparison(compared_runs()),
    "plan": lambda: page_of_plan(plan_of_targets()),
    "batch": lambda: page_of_batch(batch_result()),
    "two-batches": lambda: page_of_batch(two_batches()),
    "batch-of-a-table": lambda: page_of_batch(batch_of_a_table()),
    "study": lambda: page_of_study(study_result(simulated=True)),
    "lot": lambda: page_of_lot(lot_evidence()),
    "lot-by-variables": lambda: page_of_lot(lot_by_variables()),
    "history": lambda: page_of_history(history_of_lots()),
    "nonconformity": lambda: page_of_nonconformity(nonconformity_letter()),
    "components": lambda: page_of_gauge(of_components(part_runs())),
    **{
        name: functools.partial(lambda make: page_of_gauge(make()), make)
        for name, make in GAUGE_RESULTS.items()
        if name != "components"
    },
}


@functools.cache
def page_of(kind: str) -> str:
    return KINDS[kind]()
