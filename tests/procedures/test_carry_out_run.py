"""Locate, sweeps and runs: what is measured, what is void, and what is said of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from rig.errors import (
    BenchError,
    InputError,
    LinkLost,
    MotionFault,
    RigRestarted,
)
from rig.model.mounted import BacklashSource
from rig.model.settings import BenchSettings
from rig.procedures.events import Located, Remarked, RunBegan, RunEnded
from rig.procedures.locate import locate
from rig.procedures.run_order import RunOrder
from rig.records import Reader, RunFilter, Writer
from sim.ring import Ring

from .conftest import MakeRig, SimRig

QUIET = {"noise_um": 0, "probe_um": 0, "zero_um": 0, "screw_um": 0}


def run_ids(reader: Reader) -> list[str]:
    return [run.run_id for run in reader.runs(RunFilter())]


def edges_of(run: Any) -> list[tuple[int, int]]:
    return [
        (sweep.operate.position_steps, sweep.release.position_steps)
        for sweep in run.sweeps
        if not sweep.void
    ]


# ------------------------------------------------------------------------ locate


def test_locate_finds_the_band_to_what_its_speed_allows(make_rig: MakeRig) -> None:
    rig = make_rig(seed=1, backlash_um=60, delay_ms=5)
    bench = rig.touch_off()

    band = locate(bench, rig.catalogue.sensor("level-18"), rig.told.append)

    truth = rig.truth()
    located = rig.told[-1]
    assert isinstance(located, Located)
    # 5 ms at 10 mm/s: 50 um too near on approach, too far on retreat
    assert located.operate_mm == pytest.approx(
        truth.threshold_operate_mm - 0.05, abs=0.03
    )
    assert located.release_mm == pytest.approx(
        truth.threshold_release_mm + 0.05, abs=0.04
    )
    assert band.operate_steps > band.release_steps


@pytest.mark.parametrize(
    ("options", "sensor", "kind", "likely"),
    [
        ({"fault": "sensor_dead"}, "level-18", "never switches", "no supply"),
        ({"fault": "sensor_on"}, "level-18", "on at the far end", "too sensitive"),
        ({"sensitivity": 30}, "level-18", "on at the far end", "too sensitive"),
        ({"output": "NC"}, "level-18", "inverted output", "normally closed"),
        ({"output": "NO"}, "level-18-nc", "inverted output", "normally closed"),
        (
            {"output": "NC", "fault": "sensor_dead"},
            "level-18-nc",
            "never switches",
            "broken wire",
        ),
        (
            {"output": "NC", "fault": "sensor_on"},
            "level-18-nc",
            "on at the far end",
            "too sensitive",
        ),
    ],
)
def test_a_sensor_that_cannot_be_measured_is_named_and_no_number_made(
    make_rig: MakeRig,
    writer: Writer,
    reader: Reader,
    options: dict[str, object],
    sensor: str,
    kind: str,
    likely: str,
) -> None:
    rig = make_rig(seed=1, **options)
    bench = rig.touch_off()

    with pytest.raises(BenchError, match=kind) as caught:
        rig.run(bench, rig.order(sensor), writer)

    assert likely in caught.value.hint
    assert caught.value.exit_status == 3
    (run_id,) = run_ids(reader)
    assert reader.run(run_id).sweeps == ()
    assert reader.latest_figures(run_id) is None


def test_a_stroke_that_is_too_short_says_what_is_needed(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1)
    bench = rig.touch_off()
    far = replace(rig.catalogue.sensor("level-18"), rated_distance_mm=25.0)
    rig.transport.requests.clear()

    with pytest.raises(BenchError, match="stroke is too short for level-18") as caught:
        rig.run(bench, replace(rig.order(), sensor=far), writer)

    # 1.43 x 25 mm and 2 mm of room
    assert "37.8 mm are needed" in str(caught.value)
    assert f"{bench.widest_gap_mm:.1f} mm" in str(caught.value)
    assert "further from the home switch" in caught.value.hint
    assert rig.gos() == []


# --------------------------------------------------------------------------- run


def test_a_run_keeps_every_edge_of_a_sweep(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=1)

    result = rig.run(rig.touch_off(), rig.order(sweeps=6), writer)

    run = reader.run(result.run.header.run_id)
    assert run == result.run
    assert [sweep.speed_mm_s for sweep in run.sweeps] == [1.0, 4.0] * 3
    assert all(len(sweep.edges) == 2 for sweep in run.sweeps)
    assert {type(e).__name__ for e in rig.told} >= {"RunBegan", "Located", "RunEnded"}
    assert [event.good for event in rig.sweeps_told()] == [1, 2, 3, 4, 5, 6]
    assert run.home_shift_steps is None
    assert run.datum_checks[0].sweeps_before == 6
    assert run.header.conditions.simulated
    assert run.header.conditions.backlash.source is BacklashSource.PROBE
    assert reader.latest_figures(run.header.run_id) == result.figures
    assert isinstance(rig.told[-1], RunEnded)


def test_every_sweep_is_on_disk_before_the_next_begins(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=1)
    bench = rig.touch_off()
    on_disk: list[int] = []

    def look(event: object) -> None:
        rig.told.append(event)  # type: ignore[arg-type]
        if (
            event is rig.told[-1]
            and rig.sweeps_told()
            and rig.sweeps_told()[-1] is event
        ):
            (run_id,) = run_ids(reader)
            on_disk.append(len(reader.run(run_id).sweeps))

    rig.run(bench, rig.order(sweeps=5), writer, tell=look)

    assert on_disk == [1, 2, 3, 4, 5]


def test_sweeps_begin_at_different_phases_of_the_step_grid(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1)

    rig.run(rig.touch_off(), rig.order(sweeps=12), writer)

    gos = rig.gos()
    begins = {
        before.target % 16
        for before, go in pairwise(gos)
        if go.edges == 1 and go.target > before.target
    }
    assert len(begins) > 6


def test_a_normally_closed_sensor_gives_the_same_figures(
    make_rig: MakeRig, writer: Writer
) -> None:
    found = []
    for output, sensor in (("NO", "level-18"), ("NC", "level-18-nc")):
        rig = make_rig(seed=5, output=output)
        result = rig.run(rig.touch_off(), rig.order(sensor), writer)
        found.append((edges_of(result.run), result.figures))

    (open_edges, open_figures), (closed_edges, closed_figures) = found
    assert open_edges == closed_edges
    assert open_figures == closed_figures


def test_without_noise_every_figure_is_the_truth_to_a_step(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=1, backlash_um=37, delay_ms=3, **QUIET)

    figures = rig.run(rig.touch_off(), rig.order(sweeps=8), writer).figures

    truth = rig.truth()
    step_mm = 0.000625
    assert figures.operate.value == pytest.approx(
        truth.threshold_operate_mm, abs=step_mm
    )
    assert figures.release.value == pytest.approx(
        truth.threshold_release_mm, abs=2 * step_mm
    )
    assert figures.response_time_operate is not None
    assert figures.response_time_operate.value == pytest.approx(3.0, abs=0.3)


# ------------------------------------------------------------------- void sweeps


@pytest.mark.parametrize("share", [0.1, 0.3, 1.0])
def test_notices_dropped_on_the_way_are_recalled_and_change_nothing(
    make_rig: MakeRig, writer: Writer, share: float
) -> None:
    clean, lossy = make_rig(seed=5), make_rig(seed=5, fault=f"drop_notice:{share}")

    results = [rig.run(rig.touch_off(), rig.order(), writer) for rig in (clean, lossy)]

    assert lossy.mover.link.recalls > 0
    assert clean.mover.link.recalls == 0
    assert edges_of(results[0].run) == edges_of(results[1].run)
    assert results[0].figures == results[1].figures


def test_a_sweep_whose_notice_is_gone_is_void_and_repeated(
    make_rig: MakeRig, writer: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    forgotten = forget_an_edge(rig, monkeypatch, after_sweeps=2)

    result = rig.run(bench, rig.order(sweeps=4), writer)

    voids = [sweep for sweep in result.run.sweeps if sweep.void]
    assert len(forgotten) == 1
    assert len(voids) == 1
    assert "lost a notice" in voids[0].void
    assert len(result.run.sweeps) == 5
    assert any(
        isinstance(event, Remarked) and "is void" in event.sentence
        for event in rig.told
    )
    assert result.figures.operate.n == 4
    assert any("not used" in warning for warning in result.figures.warnings)


def forget_an_edge(
    rig: SimRig, monkeypatch: pytest.MonkeyPatch, *, after_sweeps: int
) -> list[int]:
    """Make the ring lose the next edge of the output, once, unsent and for good."""
    take_unsent, line = Ring.take_unsent, Ring.line
    forgotten: list[int] = []

    def take(ring: Ring) -> bytes | None:
        taken = take_unsent(ring)
        due = len(rig.sweeps_told()) >= after_sweeps and not forgotten
        if taken is not None and b" out " in taken and due:
            forgotten.append(int(taken[2:].split()[0]))
            return take_unsent(ring)
        return taken

    monkeypatch.setattr(Ring, "take_unsent", take)
    monkeypatch.setattr(
        Ring, "line", lambda ring, n: None if n in forgotten else line(ring, n)
    )
    return forgotten


@pytest.mark.parametrize("order", [5, 8, 12, 28, 29, 30, 31])
def test_lost_steps_void_the_run_and_give_no_figures(
    make_rig: MakeRig, writer: Writer, reader: Reader, order: int
) -> None:
    rig = make_rig(seed=5, fault=f"lost_steps:{order}", home_um=0)
    bench = rig.touch_off()

    with pytest.raises(BenchError, match="void: the home switch moved by") as caught:
        rig.run(bench, rig.order(sweeps=4), writer)

    assert "jam" in caught.value.hint
    (run_id,) = run_ids(reader)
    run = reader.run(run_id)
    assert run.home_shift_steps in (-64, 64)
    assert "steps were lost" in run.void
    assert len(run.sweeps) >= 4
    assert reader.latest_figures(run_id) is None


@pytest.mark.parametrize("order", [28, 29, 30, 31])
def test_steps_lost_beneath_the_scatter_of_the_switch_are_found_at_the_face(
    make_rig: MakeRig, writer: Writer, reader: Reader, order: int
) -> None:
    rig = make_rig(seed=5, fault=f"lost_steps:{order}", home_um=10)
    bench = rig.touch_off()

    with pytest.raises(BenchError, match=r"the face was found .* lost steps"):
        rig.run(bench, rig.order(sweeps=4), writer)

    (run_id,) = run_ids(reader)
    assert reader.latest_figures(run_id) is None


@pytest.mark.parametrize("order", [12, 16])
def test_steps_lost_among_the_touches_are_in_the_uncertainty(
    make_rig: MakeRig, writer: Writer, order: int
) -> None:
    rig = make_rig(seed=5, fault=f"lost_steps:{order}", home_um=10)

    figures = rig.run(rig.touch_off(), rig.order(sweeps=10), writer).figures

    # 64 steps, 40 um, between two of five touches: the mean is off by 8 to 32 um
    error_mm = figures.operate.value - (rig.truth().observed_operate_mm or 0.0)
    assert abs(error_mm) > 0.006
    assert figures.operate.expanded_uncertainty is not None
    assert abs(error_mm) < figures.operate.expanded_uncertainty


def test_the_switch_s_own_scatter_is_not_called_lost_steps(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=5, home_um=3)

    result = rig.run(rig.touch_off(), rig.order(), writer)

    assert result.run.home_shift_steps != 0
    assert result.run.void == ""


def test_chatter_is_measured_at_the_first_edges_and_warned_of(
    make_rig: MakeRig, writer: Writer
) -> None:
    rig = make_rig(seed=0, fault="chatter:3")

    result = rig.run(rig.touch_off(), rig.order(), writer)

    good = [sweep for sweep in result.run.sweeps if not sweep.void]
    assert any(len(sweep.edges) > 2 for sweep in good)
    assert all(
        sweep.operate == next(e for e in sweep.edges if e.approaching and e.level)
        for sweep in good
    )
    assert any("chatter" in warning for warning in result.figures.warnings)


@pytest.mark.parametrize("delay_ms", [30, 40, 50, 100])
def test_a_delay_beyond_the_guard_widens_the_band_and_leaves_no_error(
    make_rig: MakeRig, writer: Writer, delay_ms: int
) -> None:
    rig = make_rig(seed=3, delay_ms=delay_ms, noise_um=1)

    result = rig.run(rig.touch_off(), rig.order(sweeps=6), writer)

    truth, figures = rig.truth(), result.figures
    voids = [sweep.void for sweep in result.run.sweeps if sweep.void]
    assert "the output changed where no edge was expected" in voids
    for figure, expected in (
        (figures.operate, truth.observed_operate_mm),
        (figures.release, truth.observed_release_mm),
    ):
        assert figure.expanded_uncertainty is not None
        assert abs(figure.value - expected) < 1.5 * figure.expanded_uncertainty


@pytest.mark.parametrize("speeds_mm_s", [(1.0, 4.0), (1.0, 2.0), (4.0, 10.0)])
@pytest.mark.parametrize("delay_ms", [70, 100, 300])
def test_a_delay_that_no_band_can_hold_gives_no_wrong_number(
    make_rig: MakeRig,
    writer: Writer,
    reader: Reader,
    delay_ms: int,
    speeds_mm_s: tuple[float, ...],
) -> None:
    rig = make_rig(seed=3, delay_ms=delay_ms, noise_um=1)
    bench = rig.touch_off()

    try:
        rig.run(bench, rig.order(sweeps=10, speeds_mm_s=speeds_mm_s), writer)
    except BenchError as exc:
        told = str(exc)
    else:
        told = ""

    (run_id,) = run_ids(reader)
    figures = reader.latest_figures(run_id)
    if figures is None:
        assert "3 sweeps in a row are void" in told
        assert all(sweep.void for sweep in reader.run(run_id).sweeps[-3:])
        return
    expanded = figures.operate.expanded_uncertainty
    assert expanded is not None
    error = figures.operate.value - (rig.truth().observed_operate_mm or 0.0)
    assert abs(error) < 1.5 * expanded


def test_the_longest_delays_are_told_as_such(make_rig: MakeRig, writer: Writer) -> None:
    rig = make_rig(seed=3, delay_ms=200)
    bench = rig.touch_off()

    with pytest.raises(
        BenchError, match="came so late that the sensor switched before"
    ):
        rig.run(bench, rig.order(), writer)


# ------------------------------------------------------------- what goes wrong


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_line_that_garbles_both_ways_gives_the_figures_of_a_clean_one(
    make_rig: MakeRig, writer: Writer, seed: int
) -> None:
    # One byte in 5000: a hundred times worse than a cable that anyone would keep
    fault = "garble_to_host:0.0002,garble_to_controller:0.0002"
    clean, noisy = make_rig(seed=seed), make_rig(seed=seed, fault=fault)

    results = [rig.run(rig.touch_off(), rig.order(), writer) for rig in (clean, noisy)]

    dropped = noisy.mover.link.damaged_lines + noisy.controller.dropped()
    assert dropped >= 1
    assert edges_of(results[0].run) == edges_of(results[1].run)
    assert results[0].figures == results[1].figures


@pytest.mark.parametrize("after_s", [8.0, 9.3, 15.0])
def test_a_restart_in_mid_run_keeps_the_sweeps_that_ended(
    make_rig: MakeRig, writer: Writer, reader: Reader, after_s: float
) -> None:
    rig = make_rig(seed=5)
    bench = rig.touch_off()
    rig.at_time(rig.mover.link.now_s() + after_s, rig.controller.restart)

    with pytest.raises(RigRestarted, match="restarted"):
        rig.run(bench, rig.order(sweeps=50), writer)

    (run_id,) = run_ids(reader)
    run = reader.run(run_id)
    assert 0 < len(rig.sweeps_told()) == len(run.sweeps) < 50
    assert run.ended_at is None


def test_a_hang_up_in_mid_run_keeps_the_sweeps_that_ended(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=5, fault=f"hang_up:{end_of_touch_off_s(make_rig) + 9}")
    bench = rig.touch_off()

    with pytest.raises(LinkLost) as caught:
        rig.run(bench, rig.order(sweeps=50), writer)

    assert caught.value.hint
    (run_id,) = run_ids(reader)
    assert 0 < len(rig.sweeps_told()) == len(reader.run(run_id).sweeps) < 50


def end_of_touch_off_s(make_rig: MakeRig) -> float:
    """Return when the touch-off of the rig with seed 5 ends, on its own clock."""
    rig = make_rig(seed=5)
    rig.touch_off()
    return rig.mover.link.now_s()


@pytest.mark.parametrize("after_s", [0.0, 1.0, 4.003, 7.51, 9.0, 9.1, 9.2])
def test_a_lost_supply_is_named_whenever_it_comes(
    make_rig: MakeRig, writer: Writer, after_s: float
) -> None:
    at_s = end_of_touch_off_s(make_rig) + after_s
    rig = make_rig(seed=5, fault=f"supply_lost:{at_s}")
    bench = rig.touch_off()

    with pytest.raises(MotionFault, match="supply is gone") as caught:
        rig.run(bench, rig.order(sweeps=50), writer)

    assert "24 V" in caught.value.hint


def test_a_supply_lost_at_rest_is_named_too(make_rig: MakeRig, writer: Writer) -> None:
    at_s = end_of_touch_off_s(make_rig) + 1.0
    rig = make_rig(seed=5, fault=f"supply_lost:{at_s}")
    bench = rig.touch_off()
    while rig.mover.link.now_s() < at_s + 0.1:
        rig.mover.link.look()

    with pytest.raises(MotionFault, match="supply is gone"):
        rig.run(bench, rig.order(), writer)


# ----------------------------------------------------------------------- orders


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"sweeps": 0}, "sweeps is 0: it must be 1 to 10000"),
        ({"sweeps": -3}, "sweeps is -3"),
        ({"sweeps": 10_001}, "sweeps is 10001"),
        ({"speeds_mm_s": ()}, "speeds is empty"),
        ({"speeds_mm_s": (0.0,)}, "speed 0 mm/s is out of range"),
        ({"speeds_mm_s": (1.0, 10.1)}, "speed 10.1 mm/s is out of range"),
        ({"speeds_mm_s": (1.0, float("nan"))}, "speed nan mm/s is out of range"),
        ({"speeds_mm_s": (-1.0,)}, "speed -1 mm/s"),
    ],
)
def test_an_order_that_cannot_be_carried_out_is_refused(
    make_rig: MakeRig, fields: dict[str, Any], says: str
) -> None:
    order = make_rig().order()

    with pytest.raises(InputError, match=says) as caught:
        RunOrder(
            sensor=order.sensor,
            target=order.target,
            **{"sweeps": 4, "speeds_mm_s": (1.0,), **fields},
        )

    assert caught.value.exit_status == 2


@pytest.mark.parametrize("speed_mm_s", [0.05, 10.0])
def test_the_slowest_and_fastest_speed_can_be_measured_at(
    make_rig: MakeRig, writer: Writer, speed_mm_s: float
) -> None:
    settings = BenchSettings(touches=2)
    rig = make_rig(settings=settings, seed=5, **QUIET)

    result = rig.run(
        rig.touch_off(), rig.order(sweeps=2, speeds_mm_s=(speed_mm_s,)), writer
    )

    assert [sweep.speed_mm_s for sweep in result.run.sweeps] == [speed_mm_s] * 2
    assert isinstance(rig.told[-1], RunEnded)
    assert any(isinstance(event, RunBegan) for event in rig.told)
