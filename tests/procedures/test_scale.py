"""A rig with a linear scale: places from it, and what it shows of the screw."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from rig.errors import BenchError, RigImplausible
from rig.model.attempts import Outcome
from rig.procedures.homing_check import check_home
from rig.procedures.touch_off import touch_off
from rig.procedures.unmeasured import Unmeasured
from rig.records import Reader, Writer, open_records
from rig.records.run_check import checks_of_runs
from tests.declared_benches import declared_bench
from tests.procedures.conftest import MakeRig, SimRig

SCALED = {"sensor": "inductive", "scale_um": 1, "scale_error_um": 0}


def scaled_rig(make_rig: MakeRig, **words: object) -> SimRig:
    return make_rig(**(SCALED | {"seed": 11} | words))


def order_of(rig: SimRig, sweeps: int = 4):
    return rig.order("gate-8", "steel", sweeps=sweeps)


def test_play_and_screw_are_not_in_the_points_of_a_rig_with_a_scale(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = scaled_rig(make_rig, screw_um=40, backlash_um=90)
    bench = touch_off(
        rig.mover,
        rig.settings,
        rig.told.append,
        declared=declared_bench(periodic_um=40.0),
    )

    run = rig.run(bench, order_of(rig, 6), writer).run

    truth = rig.truth()
    figures = Reader(writer._store).latest_figures(run.header.run_id)
    assert figures is not None
    assert truth.observed_operate_mm is not None
    assert truth.observed_release_mm is not None
    zero_mm = truth.zero_error_mm
    assert figures.operate.value == pytest.approx(
        truth.observed_operate_mm + zero_mm, abs=0.004
    )
    assert figures.release.value == pytest.approx(
        truth.observed_release_mm + zero_mm, abs=0.004
    )
    # The same edges by the motor's steps: an error of the screw of that size shows
    by_steps = [
        bench.gap_mm(s.operate.position_steps - 0.5) for s in run.sweeps if s.operate
    ]
    assert abs(by_steps[0] - truth.observed_operate_mm - zero_mm) > 0.008


def test_the_touch_off_shows_the_play_of_the_screw_and_none_by_the_scale(
    make_rig: MakeRig,
) -> None:
    rig = scaled_rig(make_rig, backlash_um=90)

    bench = rig.touch_off()

    assert bench.backlash.of_screw_mm == pytest.approx(0.09, abs=0.003)
    assert bench.backlash.value_mm == pytest.approx(0.0, abs=0.003)
    assert bench.datum.scale_steps is not None
    # `home` ends on the other flank, so on approach the steps are ahead by the play
    ahead_mm = rig.mover.length_mm(bench.datum.position_steps - bench.datum.scale_steps)
    assert ahead_mm == pytest.approx(0.09, abs=0.006)


def test_lost_steps_end_a_run_at_its_first_sweep(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = scaled_rig(make_rig)
    bench = rig.touch_off()
    rig.controller.bench.lose_steps(64)

    with pytest.raises(Unmeasured, match=r"have parted by .0\.0[34]\d mm") as caught:
        rig.run(bench, order_of(rig), writer)

    assert caught.value.outcome is Outcome.STEPS_LOST
    (run,) = Reader(writer._store).iter_runs()
    assert [bool(sweep.void) for sweep in run.sweeps] == [True]


def test_a_scale_that_counts_the_wrong_way_is_not_believed(make_rig: MakeRig) -> None:
    rig = scaled_rig(make_rig, fault="scale_reversed")

    with pytest.raises(BenchError, match="scale shows -"):
        rig.touch_off()


def test_homing_carries_the_datum_over_by_the_scale_too(make_rig: MakeRig) -> None:
    rig = scaled_rig(make_rig, home_um=0)
    bench = rig.touch_off()
    rig.controller.bench.lose_steps(64)

    check = check_home(bench)

    assert abs(check.shift_steps) == pytest.approx(64, abs=1)
    # The face has not moved, and the scale has lost nothing
    assert bench.datum.scale_steps is not None
    assert check.bench.datum.scale_steps is not None
    moved_steps = check.bench.datum.scale_steps - bench.datum.scale_steps
    assert abs(rig.mover.length_mm(moved_steps)) <= 0.0021
    assert check.bench.datum.position_steps == pytest.approx(
        bench.datum.position_steps - check.shift_steps, abs=3
    )


def test_what_the_scale_told_is_on_record_and_under_the_chain(
    make_rig: MakeRig, tmp_path: Path
) -> None:
    path = tmp_path / "scaled.sqlite"
    rig = scaled_rig(make_rig)
    with open_records(path) as store:
        bench = rig.touch_off()
        run = rig.run(bench, order_of(rig), Writer(store)).run
        kept = Reader(store).run(run.header.run_id)
        assert kept == replace(run, ended_at=kept.ended_at)
        assert all(e.scale is not None for s in kept.sweeps for e in s.edges)
        assert all(check.scale_steps is not None for check in kept.datum_checks)
        with store.reading() as connection:
            (check,) = checks_of_runs(connection, [run.header.run_id]).values()
        assert not check.changes

    with sqlite3.connect(path) as tool:
        tool.execute("DROP TRIGGER edges_unaltered")
        tool.execute("UPDATE edges SET scale = scale + 1 WHERE sweep_index = 1")

    with open_records(path) as store, store.reading() as connection:
        (check,) = checks_of_runs(connection, [run.header.run_id]).values()
    assert check.changes


def test_a_rig_without_a_scale_is_not_asked_about_it(make_rig: MakeRig) -> None:
    rig = make_rig(sensor="inductive", seed=11)

    assert rig.mover.traits.scale_counts_per_mm is None
    assert rig.mover.scale_length_mm() is None
    assert rig.touch_off().datum.scale_steps is None


def test_a_scale_that_cannot_be_is_refused_in_the_greeting(
    make_rig: MakeRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sim.options._scale_per_m", lambda scale: 5)

    with pytest.raises(RigImplausible, match=r"linear scale of 0\.005 counts/mm"):
        scaled_rig(make_rig)
