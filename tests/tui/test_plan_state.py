"""What the screen of a plan says of its pairs, from the records alone."""

from __future__ import annotations

from datetime import timedelta

from rig.inquiry.plan import PlannedFigures
from rig.records import ItemProgress, PlanItem, RunSummary
from rig.tui.technician.plan_state import PlanStanding
from tests import builders
from tests.tui.conftest import NOW

ITEM = PlanItem(
    index=0,
    sensor=builders.sensor(),
    target=builders.target(),
    sweeps_wanted=10,
    speeds_mm_s=(1.0,),
)


def _run(number: int, good: int, *, ended: bool) -> RunSummary:
    started_at = NOW + timedelta(minutes=number)
    return RunSummary(
        run_id=f"20310304-09300{number}-000-aaaa",
        sensor="level-18",
        target="steel",
        material="steel",
        simulated=True,
        started_at=started_at,
        ended_at=started_at + timedelta(seconds=40) if ended else None,
        sweeps_wanted=10,
        good_sweeps=good,
        void_sweeps=0,
        void="",
        plan_id="p",
        plan_item=0,
    )


def _standing(*runs: RunSummary) -> PlanStanding:
    progress = ItemProgress(item=ITEM, runs=runs)
    return PlanStanding(
        title="t", items=(PlannedFigures(progress=progress, figures=None),)
    )


def test_a_repeat_that_was_cut_off_stands_beside_the_run_that_counts() -> None:
    cut = _standing(_run(1, 10, ended=True), _run(2, 4, ended=False))

    (row,) = cut.rows()
    assert (str(row.state), row.sweeps) == ("◐ repeat", "4/10")
    assert "the run before counts" in cut.detail(0)
    assert "after 4 of 10 sweeps" in cut.detail(0)
    assert cut.done
    assert cut.cut_repeats == (0,)


def test_a_pair_that_was_measured_once_has_no_repeat_to_resume() -> None:
    done = _standing(_run(1, 10, ended=True))
    begun = _standing(_run(1, 4, ended=False))

    assert done.cut_repeats == begun.cut_repeats == ()
    assert [str(one.rows()[0].state) for one in (done, begun)] == ["✓ done", "◐ begun"]
