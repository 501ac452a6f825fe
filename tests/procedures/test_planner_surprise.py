"""Edges where none is expected: void, widened, repeated; and drift that is seen."""

from __future__ import annotations

import pytest

from rig.errors import BenchError
from rig.procedures.events import Event, Remarked, SweepEnded
from rig.procedures.expectation import expect
from rig.records import Reader, Writer
from sim.options import mounting_for, read_options
from sim.presets import SENSORS, TARGETS

from .conftest import MakeRig, SimRig

QUIET = {"noise_um": 1, "screw_um": 0}


def shift_sensor_after(rig: SimRig, good: int, sensitivity: float) -> None:
    """Turn the trimmer once so many sweeps are good."""
    options = read_options({"sensitivity": str(sensitivity), "noise_um": "1"})
    mounting = mounting_for(
        options, SENSORS["capacitive"], TARGETS["steel"], normally_closed=False
    )

    class Told(list[Event]):
        def append(self, event: Event) -> None:
            if isinstance(event, SweepEnded) and event.good == good and not self.done:
                rig.controller.mount(mounting)
                self.done = True
            super().append(event)

        done = False

    rig.told = Told()


@pytest.mark.parametrize("sensitivity", [0.93, 1.07])
def test_an_edge_that_surprises_voids_its_sweep_which_is_repeated(
    make_rig: MakeRig, writer: Writer, reader: Reader, sensitivity: float
) -> None:
    rig = make_rig(seed=2, **QUIET)
    shift_sensor_after(rig, 6, sensitivity)

    result = rig.run(rig.touch_off(), rig.order(sweeps=12), writer)

    sweeps = reader.run(result.run.header.run_id).sweeps
    assert [sweep.index for sweep in sweeps] == list(range(len(sweeps)))
    assert sum(not sweep.void for sweep in sweeps) == 12
    assert all(not sweep.void for sweep in sweeps[:6])
    assert sweeps[6].void
    remarks = [e.sentence for e in rig.told if isinstance(e, Remarked)]
    assert any("void" in sentence and "widened" in sentence for sentence in remarks)


def test_a_surprise_widens_the_band_and_a_good_sweep_narrows_it_again(
    make_rig: MakeRig, writer: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    widenings = []

    def watched(*arguments, widening: float = 1.0, **words):
        widenings.append(widening)
        return expect(*arguments, widening=widening, **words)

    monkeypatch.setattr("rig.procedures.sweep.expect", watched)
    rig = make_rig(seed=2, **QUIET)
    shift_sensor_after(rig, 6, 0.93)

    rig.run(rig.touch_off(), rig.order(sweeps=12), writer)

    assert max(widenings) >= 3.0
    assert widenings[0] == widenings[-1] == 1.0


def test_what_surprises_again_and_again_ends_the_run(
    make_rig: MakeRig, writer: Writer, reader: Reader
) -> None:
    rig = make_rig(seed=2, delay_ms=300)

    with pytest.raises(BenchError, match="3 sweeps in a row are void"):
        rig.run(rig.touch_off(), rig.order(), writer)

    (run,) = reader.runs()
    assert (run.good_sweeps, run.void_sweeps, run.ended_at) == (0, 3, None)


@pytest.mark.parametrize(
    "noise_um", [4, *(pytest.param(um, marks=pytest.mark.long) for um in (1, 10, 20))]
)
def test_noise_alone_rarely_surprises(
    make_rig: MakeRig, writer: Writer, noise_um: int
) -> None:
    voids = sweeps = 0
    for seed in range(4):
        rig = make_rig(seed=seed, noise_um=noise_um)
        result = rig.run(rig.touch_off(), rig.order(sweeps=20), writer)
        voids += sum(bool(sweep.void) for sweep in result.run.sweeps)
        sweeps += len(result.run.sweeps)

    assert voids <= 0.05 * sweeps


def test_the_slow_way_begins_before_the_sensor_switches(
    make_rig: MakeRig, writer: Writer
) -> None:
    # Were the axis still on its ramp then, 4 mm/s would shift the edges by less than
    # the delay says, and the point at rest would be off by about 3 um
    rig = make_rig(seed=3, delay_ms=10, **QUIET)

    figures = rig.run(rig.touch_off(), rig.order(sweeps=40), writer).figures

    assert figures.response_time_operate is not None
    assert figures.response_time_operate.value == pytest.approx(10.0, abs=0.2)
    truth = rig.truth()
    zero_mm = truth.zero_error_mm
    assert truth.observed_operate_mm is not None
    assert figures.operate.value == pytest.approx(
        truth.observed_operate_mm + zero_mm, abs=0.001
    )


def test_warm_up_is_followed_and_told(make_rig: MakeRig, writer: Writer) -> None:
    rig = make_rig(seed=1, fault="drift:0.05")

    result = rig.run(rig.touch_off(), rig.order(sweeps=40), writer)

    good = sum(not sweep.void for sweep in result.run.sweeps)
    assert good == 40
    assert len(result.run.sweeps) <= 42
    assert any("drifts by" in warning for warning in result.figures.warnings)


@pytest.mark.long
def test_a_settled_sensor_is_not_said_to_drift(
    make_rig: MakeRig, writer: Writer
) -> None:
    said = 0
    for seed in range(10):
        rig = make_rig(seed=seed)
        figures = rig.run(rig.touch_off(), rig.order(sweeps=12), writer).figures
        said += any("drifts by" in warning for warning in figures.warnings)

    # One run in a hundred by chance: two in ten would be one chance in 200
    assert said <= 1
