"""What is measured over the wire against closed forms, and that it can be repeated.

Figures of H, on and off are superposed exactly from delay, speed and play:
on - v tau, off + v tau + B, H + 2 v tau + B (derived by hand).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sim.chance import Purpose, stream
from sim.options import build, read_options
from sim.stretch import CHUNK_STEPS, Stretch

STEPS_PER_UM = 1.6


def datum_steps(host) -> int:
    host.order("q4 go 46000 16000 160000 0 0")
    host.order("q5 touch 50000 400")
    return host.edges("probe")[-1].position


def sweep(host, speed_mm_s: float) -> tuple[int, int]:
    """Return counts of one operate and one release edge at a speed."""
    speed = round(speed_mm_s * 1600)
    host.order("q6 go 31000 40000 800000 0 0")
    host.order(f"q7 go 45000 {speed} 800000 1 3200")
    host.order(f"q8 go 20000 {speed} 800000 1 3200")
    on, off = host.edges()[-2:]
    assert (on.level, off.level) == (True, False)
    return on.position, off.position


def gaps_um(host, speed_mm_s: float) -> tuple[float, float]:
    datum = datum_steps(host)
    on, off = sweep(host, speed_mm_s)
    return (datum - on) / STEPS_PER_UM, (datum - off) / STEPS_PER_UM


@pytest.mark.parametrize(
    ("speed_mm_s", "excess_um"), [(0.25, 5.0), (1.0, 20.0), (5.0, 100.0)]
)
def test_delay_adds_twice_the_way_to_differential_travel(
    quiet_host, speed_mm_s, excess_um
):
    plain_on, plain_off = gaps_um(quiet_host().get_ready(), speed_mm_s)
    on, off = gaps_um(quiet_host(delay_ms="10").get_ready(), speed_mm_s)

    assert (off - on) - (plain_off - plain_on) == pytest.approx(excess_um, abs=1e-9)
    assert on - plain_on == pytest.approx(-excess_um / 2, abs=1e-9)


def test_play_and_delay_superpose(quiet_host):
    plain_on, plain_off = gaps_um(quiet_host().get_ready(), 1.0)
    host = quiet_host(delay_ms="10", backlash_um="50").get_ready()

    on, off = gaps_um(host, 1.0)

    step_um = 1 / STEPS_PER_UM
    assert on - plain_on == pytest.approx(-10.0, abs=1.01 * step_um)
    assert off - plain_off == pytest.approx(60.0, abs=1.01 * step_um)
    assert (off - on) - (plain_off - plain_on) == pytest.approx(
        70.0, abs=1.01 * step_um
    )


@pytest.mark.parametrize("backlash_um", [0.0, 12.5, 50.0, 100.0])
def test_play_shows_on_the_probe(quiet_host, backlash_um):
    host = quiet_host(backlash_um=str(backlash_um)).get_ready()
    datum_steps(host)

    host.order("q6 go 46000 1600 160000 0 0")

    closed, opened = host.edges("probe")
    # The probe closes at the first step on it and opens at the first step off it
    assert closed.position - opened.position == pytest.approx(
        backlash_um * STEPS_PER_UM, abs=1.01
    )


def test_edges_are_where_the_thresholds_are(quiet_host):
    host = quiet_host(seed="3", zero_um="7.5").get_ready()
    truth = host.controller.truth()

    on, off = gaps_um(host, 1.0)

    # The probe closes at the step at or past its place, the edge comes at the step
    # at or past the threshold: each up to one step late, so two in the difference
    step_mm = 1 / 1600
    expected = truth.threshold_operate_mm + 0.0075
    assert on * 1e-3 == pytest.approx(expected, abs=1.01 * step_mm)
    expected = truth.threshold_release_mm + 0.0075
    assert off * 1e-3 == pytest.approx(expected, abs=2.01 * step_mm)


def test_noise_operates_early_as_the_first_passage_says(quiet_host):
    host = quiet_host(seed="11", noise_um="10").get_ready()
    truth = host.controller.truth()
    datum = datum_steps(host)
    # The datum is the first step past contact: nearer than that by less than a step
    face_steps = truth.face_mm * 1600

    edges = np.array([sweep(host, 5.0) for _ in range(60)])

    middle_on = (face_steps - (edges[:, 0] - 0.5)) / 1600
    middle_off = (face_steps - (edges[:, 1] + 0.5)) / 1600
    assert datum == pytest.approx(face_steps, abs=1.0)
    # M = sigma / step = 16: the deviation of one sweep is 0.54 sigma (first-passage
    # table, derived by hand); four standard deviations of the mean
    allowed = 4 * 0.54 * 0.010 / np.sqrt(len(edges))
    # The home switch closes within the step before count 0
    allowed += 0.5 / 1600
    assert middle_on.mean() == pytest.approx(truth.observed_operate_mm, abs=allowed)
    # Deviation in mm goes with the inverse of the slope: larger at the release gap
    allowed_off = allowed * 1.2
    assert middle_off.mean() == pytest.approx(
        truth.observed_release_mm, abs=allowed_off
    )
    assert truth.observed_operate_mm - truth.threshold_operate_mm > 0.010
    assert 0.3 < middle_on.std() / 0.010 / 0.54 < 1.7


@pytest.mark.long
def test_a_delay_of_no_whole_number_of_steps_is_right_on_average(quiet_host):
    # 1 mm/s for 4.7 ms is 7.52 steps: single edges show 7 or 8 of them
    plain = sweep(quiet_host().get_ready(), 1.0)
    host = quiet_host(delay_ms="4.7").get_ready()

    late = np.array([sweep(host, 1.0)[0] for _ in range(100)]) - plain[0]

    assert set(late) == {7, 8}
    assert late.mean() == pytest.approx(7.52, abs=4 * 0.5 / 10)


def test_an_offset_is_drawn_for_each_sweep(quiet_host):
    host = quiet_host(offset_um="20").get_ready()

    edges = np.array([sweep(host, 5.0) for _ in range(40)]) / STEPS_PER_UM

    # Deviation of a deviation from 40 values: 1/sqrt(78), four of them
    assert edges[:, 0].std(ddof=1) == pytest.approx(20.0, rel=4 / np.sqrt(78))
    # Up and down belong together
    assert np.corrcoef(edges.T)[0, 1] > 0.99


def test_normally_closed_is_the_same_upside_down(quiet_host):
    plain = sweep(quiet_host(delay_ms="2").get_ready(), 1.0)
    host = quiet_host(delay_ms="2", output="NC").get_ready()
    assert host.look().inputs & 1

    host.order("q6 go 20000 40000 800000 0 0")
    host.order("q7 go 45000 1600 800000 1 3200")
    host.order("q8 go 20000 1600 800000 1 3200")

    on, off = host.edges()
    assert (on.level, off.level) == (False, True)
    assert (on.position, off.position) == plain


def test_the_screw_error_moves_edges_by_no_more_than_its_amplitude(quiet_host):
    plain = sweep(quiet_host(seed="5").get_ready(), 1.0)
    bent = sweep(quiet_host(seed="5", screw_um="10").get_ready(), 1.0)

    difference_um = np.abs(np.subtract(plain, bent)) / STEPS_PER_UM
    assert np.all(difference_um <= 20.0 + 1.3)  # at home and at the edge, a step each
    assert np.any(difference_um > 1.3)


def test_a_material_has_its_own_thresholds(quiet_host):
    host = quiet_host(target="pvc").get_ready()
    truth = host.controller.truth()

    on, off = gaps_um(host, 1.0)

    assert on * 1e-3 == pytest.approx(truth.threshold_operate_mm, abs=0.00064)
    assert off * 1e-3 == pytest.approx(truth.threshold_release_mm, abs=0.0013)
    assert on < 5000.0  # steel is seen at 8 mm


def positions(host) -> list[tuple[str, bool, int]]:
    host.get_ready()
    datum_steps(host)
    for speed in (1.0, 5.0, 0.5):
        sweep(host, speed)
    return [(e.source, e.level, e.position) for e in host.edges("out")]


def test_the_same_seed_gives_the_same_bytes(make_host):
    first, second, other = (make_host(seed=seed) for seed in ("9", "9", "10"))

    edges = positions(first)

    assert positions(second) == edges
    assert second.raw == first.raw
    assert positions(other) != edges


def test_edges_do_not_depend_on_when_the_host_asks(make_host):
    """Bytes singly, other pauses, other polling: the same edges."""
    plain = positions(make_host(seed="9"))
    host = make_host(seed="9")
    ask = host.ask

    def slowly(*bodies: str, seconds: float = 0.02) -> bytes:
        heard = ask("q0 tally", *bodies, seconds=0.037)
        return heard + ask("q0 look", seconds=seconds * 1.7)

    host.ask = slowly
    receive = host.controller.receive
    host.controller.receive = lambda data: [
        receive(data[i : i + 1]) for i in range(len(data))
    ]

    assert positions(host) == plain


def test_a_stop_does_not_move_later_noise(quiet_host):
    def edges_after(stop: bytes) -> list[int]:
        host = quiet_host(seed="2", noise_um="10").get_ready()
        host.ask("q4 go 30000 1600 160000 0 0")
        host.wait(0.3)
        host.controller.receive(stop)
        host.wait(1.0)  # stopped, or silent
        host.ask("q5 rearm")
        host.order("q6 home 16000 400")
        host.ask("q7 fence 400 64000")
        return [sweep(host, 1.0) for _ in range(3)]

    assert edges_after(b"#") == edges_after(b"")


def test_a_longer_target_does_not_move_noise(quiet_host):
    """Looks that a turn or a nearer target leaves out change nothing else."""

    def edge(target: int) -> int:
        host = quiet_host(seed="2", noise_um="10").get_ready()
        host.order(f"q4 go {target} 1600 160000 1 100")
        host.order("q5 go 20000 1600 160000 1 100")
        return [e.position for e in host.edges()]

    assert edge(36500) == edge(60000)


def test_fixing_one_figure_moves_no_other():
    plain = build(read_options({"seed": "4"})).bench.machine
    fixed = build(read_options({"seed": "4", "backlash_um": "33"})).bench.machine

    assert fixed.backlash_mm == pytest.approx(0.033)
    assert (fixed.face_mm, fixed.zero_mm) == (plain.face_mm, plain.zero_mm)


def test_what_a_seed_draws_is_spread_as_it_should_be():
    machines = [build(read_options({"seed": str(s)})).bench.machine for s in range(200)]
    zero_um = np.array([m.zero_mm for m in machines]) * 1e3
    backlash_um = np.array([m.backlash_mm for m in machines]) * 1e3

    assert zero_um.std(ddof=1) == pytest.approx(4.0, rel=4 / np.sqrt(398))
    assert backlash_um.mean() == pytest.approx(50.0, abs=4 * 28.9 / np.sqrt(200))
    assert backlash_um.min() >= 0.0
    assert backlash_um.max() <= 100.0


@pytest.mark.long
def test_looks_left_out_because_noise_decides_nothing_change_nothing(
    make_host, monkeypatch
):
    # Chunks so short that some end within the noise of the threshold
    monkeypatch.setattr("sim.stretch.CHUNK_STEPS", 32)
    plain = positions(make_host(seed="9", noise_um="40"))

    monkeypatch.setattr("sim.stretch.NOISE_REACH", np.inf)  # leaves no look out

    assert positions(make_host(seed="9", noise_um="40")) == plain


def test_every_look_has_noise_of_its_own():
    keys = [(0, 0, 0), (0, 0, 1), (0, 1, 0), (1, 0, 0)]
    draws = [stream(1, Purpose.LOOK, *key).standard_normal(1000) for key in keys]
    again = stream(1, Purpose.LOOK, 0, 0, 1).standard_normal(1000)
    other = stream(2, Purpose.LOOK, 0, 0, 0).standard_normal(1000)

    assert np.array_equal(again, draws[1])
    # Four standard deviations of a correlation of 1000 pairs without any
    together = np.corrcoef([*draws, other]) - np.eye(5)
    assert np.abs(together).max() < 4 / np.sqrt(1000)


def test_a_stretch_goes_on_from_chunk_to_chunk():
    bench = build(read_options({"noise_um": "1000", "fault": "chatter"})).bench
    setup = bench.begin(direction=1, order=1, leg=0, time_s=0.0).setup
    asked: list[int] = []

    def noise(chunk: int) -> np.random.Generator:
        asked.append(chunk)
        return setup.noise_stream(chunk)

    stretch = Stretch(replace(setup, noise_stream=noise))
    levels: list[bool] = []
    while (change := stretch.next_change(3 * CHUNK_STEPS)) is not None:
        levels.append(change.level)
        stretch.take_change()

    assert asked == [0, 1, 2]
    assert levels == [index % 2 == 0 for index in range(len(levels))]
    assert len(levels) > 100
