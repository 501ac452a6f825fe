"""What came of a session, held against what the controller latched and the truth."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime
from math import hypot

from rig.analysis.edges.datum_closing import is_closed
from rig.analysis.edges.run_arrays import closings_of_run
from rig.analysis.edges.sweep_points import points_of_run
from rig.model.attempts import Attempt
from rig.model.figures import Figure
from rig.model.sweeps import Run, Sweep
from rig.records import PlanState, Reader, RunFilter, Store
from rig.records.attempt_book import AttemptBook
from sim.machine import Truth
from tests.campaign.faulty_wire import FaultyWire
from tests.campaign.settings import DRIFT, WRAP, Setting


@dataclass(kw_only=True)
class Outcome:
    """What came of one session; counts but for the names.

    Attributes:
        setting: What went wrong in it.
        classes: Names of all that did, by how often it struck.
        complete: Whether the plan is done.
        ended: Outcomes of its attempts, in order.
        by_itself: Losses of the link that it went on after by itself.
        by_hand: Times that a person had to begin again.
        reasons: What each of them was told.
        good: Good sweeps on record.
        void: Void sweeps on record.
        lost: Sweeps told as ended and not on record, or on record and not told.
        untrue: Edges of good sweeps that the controller never latched.
        missing: Edges that it latched within good sweeps and that are not on record.
        figures: Figures of runs that count.
        flagged: Of those, figures beyond 2 U with the warning that nobody would have
            noticed a datum that moved.
        beyond: Of those without it, how many are beyond U and beyond 2 U of the truth.
        points: Points of the good sweeps of runs without it.
        far: Of those, how many are beyond 2 U of one sweep.
        unasked: Orders begun beyond those that the host gave.
        nameless: Attempts without an outcome.
        stopped_s: Longest motion after the begin of a cut, s; 0 without one.
        cuts_in_motion: Cuts that fell into a motion.
        untyped: Errors that are none of the project's, in words.
    """

    setting: Setting
    classes: Counter[str] = field(default_factory=Counter)
    complete: bool = False
    ended: list[str] = field(default_factory=list)
    by_itself: int = 0
    by_hand: int = 0
    reasons: list[str] = field(default_factory=list)
    good: int = 0
    void: int = 0
    lost: int = 0
    untrue: int = 0
    missing: int = 0
    figures: int = 0
    flagged: int = 0
    beyond: tuple[int, int] = (0, 0)
    points: int = 0
    far: int = 0
    unasked: int = 0
    nameless: int = 0
    stopped_s: float = 0.0
    cuts_in_motion: int = 0
    untyped: list[str] = field(default_factory=list)


@dataclass(kw_only=True)
class Told:
    """What a session told on its way.

    Attributes:
        kept: Sweeps that were told as ended.
        truths: The truth after the second sweep of each run, by its identity.
        outlasted: Losses of the link that it went on after by itself.
    """

    kept: list[tuple[int | str, ...]] = field(default_factory=list)
    truths: dict[str, Truth] = field(default_factory=dict)
    outlasted: int = 0


def judge(store: Store, wire: FaultyWire, told: Told, outcome: Outcome) -> None:
    """Fill in what the records and the line say of a session."""
    reader, setting = Reader(store), outcome.setting
    runs = [reader.run(run.run_id) for run in reader.runs(RunFilter())]
    outcome.complete &= all(p.state is PlanState.DONE for p in reader.plans())
    outcome.by_itself = told.outlasted
    for fault, times in wire.seen.items():
        outcome.classes[fault.value] += times
    if setting.hardware:
        outcome.classes[setting.hardware] += 1
    if setting.wrap:
        outcome.classes[WRAP] += 1
    if setting.drift:
        outcome.classes[DRIFT] += 1
    sweeps = [sweep for run in runs for sweep in run.sweeps]
    outcome.good = sum(not sweep.void for sweep in sweeps)
    outcome.void = len(sweeps) - outcome.good
    on_record = Counter(
        as_kept(run.header.run_id, sweep) for run in runs for sweep in run.sweeps
    )
    kept = Counter(told.kept)
    outcome.lost = (kept - on_record).total() + (on_record - kept).total()
    _judge_edges(runs, wire, outcome)
    for run in runs:
        _judge_figures(reader, run, told, outcome)
    book = AttemptBook(store)
    ends = [one.end for one in sorted(book.attempts(), key=_begun_at)]
    outcome.ended = [end.outcome.value for end in ends if end is not None]
    outcome.nameless = sum(end is None for end in ends)
    begun = wire.controller._orders.orders_begun
    outcome.unasked = max(0, begun - len(wire.orders))
    outcome.cuts_in_motion = len(wire.stopped_us)
    outcome.stopped_s = max(wire.stopped_us, default=0) * 1e-6


def _judge_edges(runs: list[Run], wire: FaultyWire, outcome: Outcome) -> None:
    # In the order in which they came, whatever clock and numbers did; copies once
    latched = dict.fromkeys(
        (e.number, bool(e.level), e.position, e.time) for e in wire.edges
    )
    in_order = list(latched)
    place = {edge: at for at, edge in enumerate(in_order)}
    for run in runs:
        for sweep in run.sweeps:
            if sweep.void:
                continue
            kept = [
                (e.number, e.level, e.position_steps, e.time_us) for e in sweep.edges
            ]
            places = [place[edge] for edge in kept if edge in place]
            outcome.untrue += len(kept) - len(places)
            if places:
                between = in_order[min(places) : max(places) + 1]
                outcome.missing += len(set(between) - set(kept))


def _judge_figures(reader: Reader, run: Run, told: Told, outcome: Outcome) -> None:
    figures = reader.latest_figures(run.header.run_id)
    truth = told.truths.get(run.header.run_id)
    if figures is None or run.void or truth is None:
        return
    on, off = truth.observed_operate_mm, truth.observed_release_mm
    assert on is not None
    assert off is not None
    away = [
        abs(figure.value - true) / expanded_mm(figure)
        for figure, true in ((figures.operate, on), (figures.release, off))
    ]
    outcome.figures += len(away)
    if _says_that_it_was_not_closed(run):
        outcome.flagged += sum(ratio > 2.0 for ratio in away)
        return
    beyond_u, beyond_2u = outcome.beyond
    outcome.beyond = (
        beyond_u + sum(ratio > 1.0 for ratio in away),
        beyond_2u + sum(ratio > 2.0 for ratio in away),
    )
    points = zip(run.sweeps, points_of_run(run), strict=True)
    for sweep, (operate_mm, release_mm) in points:
        if sweep.void or operate_mm is None or release_mm is None:
            continue
        outcome.points += 2
        on_mm = operate_mm + sweep.speed_mm_s * truth.delay_on_s
        off_mm = release_mm - sweep.speed_mm_s * truth.delay_off_s
        outcome.far += abs(on_mm - on) > 2.0 * of_one_sweep(figures.operate)
        outcome.far += abs(off_mm - off) > 2.0 * of_one_sweep(figures.release)


def _says_that_it_was_not_closed(run: Run) -> bool:
    """Whether the figures carry the warning of a face that was not touched again."""
    used = {sweep.conditions_index for sweep in run.sweeps if not sweep.void}
    closings = closings_of_run(run)
    return not all(is_closed(closings[index]) for index in used)


def expanded_mm(figure: Figure) -> float:
    """Return the stated uncertainty; infinite where none is stated, which says so."""
    stated = figure.expanded_uncertainty
    return float("inf") if stated is None else stated


def of_one_sweep(figure: Figure) -> float:
    """Return the expanded uncertainty of one sweep: its own scatter is added."""
    spread = figure.standard_deviation or 0.0
    return hypot(expanded_mm(figure), 2.0 * spread)


def _begun_at(attempt: Attempt) -> datetime:
    return attempt.started_at


def as_kept(run_id: str, sweep: Sweep) -> tuple[int | str, ...]:
    """Return what makes a sweep that one and no other."""
    edges = [(e.number, e.position_steps, e.time_us) for e in sweep.edges]
    return (run_id, sweep.index, *(number for edge in edges for number in edge))
