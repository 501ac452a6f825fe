from __future__ import annotations

import pytest

from sim.faults import MODES, read_faults
from sim.options import OutputForm, Pace, SimOptions, build, read_options


def test_nothing_asked_for_is_the_default():
    assert read_options({}) == SimOptions()


def test_every_option_is_read():
    options = read_options(
        {
            "sensor": "inductive",
            "target": "brass",
            "seed": "4294967295",
            "backlash_um": "40",
            "delay_ms": "2.5",
            "noise_um": "3",
            "offset_um": "1",
            "zero_um": "-2",
            "screw_um": "0",
            "probe_um": "0.1",
            "home_um": "0.2",
            "sensitivity": "2",
            "output": "NC",
            "steps_per_mm": "800",
            "travel_mm": "50",
            "fault": "drop_notice:0.25,home_broken",
            "pace": "real",
        }
    )

    assert options.output is OutputForm.NC
    assert options.pace is Pace.REAL
    assert dict(options.fault.figures) == {"drop_notice": 0.25, "home_broken": 0.0}
    controller = build(options)
    machine, sensor = controller.bench.machine, controller.bench.mounting.sensor
    assert machine.backlash_mm == pytest.approx(0.040)
    assert machine.zero_mm == pytest.approx(-0.002)
    assert (sensor.tau_on_s, sensor.tau_off_s) == (0.0025, 0.0025)
    assert sensor.threshold_factor == 0.5
    assert controller.rig == "sim-4294967295"


@pytest.mark.parametrize("name", list(SimOptions.__dataclass_fields__))
def test_every_field_is_an_option(name):
    with pytest.raises(ValueError, match=f"option {name} is '\\?'"):
        read_options({name: "?"})


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        ({"sensr": "x"}, ["no option 'sensr'", "value 'x'", "sensor, target, seed"]),
        ({"sensor": "x"}, ["option sensor is 'x'", "one of capacitive, inductive"]),
        (
            {"seed": "-1"},
            ["option seed is '-1'", "a whole number from 0 to 4294967295"],
        ),
        ({"backlash_um": "40um"}, ["backlash_um is '40um'", "a number from 0 to 1000"]),
        ({"delay_ms": "nan"}, ["delay_ms is 'nan'", "a number from 0 to 1000"]),
        ({"output": "no"}, ["output is 'no'", "one of NO, NC"]),
        ({"fault": "x"}, ["fault is 'x'", "no fault is called 'x'", "garble_to_host"]),
        ({"fault": "chatter", "noise_um": "0"}, ["noise_um is '0'", "above 0"]),
        ({"fault": "silent:1"}, ["fault silent takes no figure"]),
        ({"fault": "drift:9"}, ["fault drift takes -0.5 to 0.5", "got 9"]),
        ({"fault": "drift:a"}, ["fault drift takes a number", "got 'a'"]),
    ],
)
def test_a_wrong_option_is_refused_in_one_line(words, parts):
    with pytest.raises(ValueError, match=r"^simulated rig: ") as refusal:
        read_options(words)

    text = str(refusal.value)
    assert "\n" not in text
    for part in parts:
        assert part in text


def test_a_fault_without_a_figure_takes_its_default():
    faults = read_faults("restart_at")

    assert faults.time_us("restart_at") == round(MODES["restart_at"].default * 1e6)
    assert faults.time_us("hang_up") is None
    assert "restart_at" in faults
    assert "hang_up" not in faults


def test_another_scale_is_the_same_machine(make_host):
    fine, coarse = (make_host(seed="1", steps_per_mm=s) for s in ("1600", "400"))

    for host, speed in ((fine, 1600), (coarse, 400)):
        host.ask("q1 hail 1")
        host.order(f"q2 home {speed} {speed}")
        host.ask("q3 fence 400 16000")
        host.order(f"q4 go {speed * 10} {speed} {speed * 100} 0 0")
    assert coarse.controller.truth().face_mm == fine.controller.truth().face_mm
    assert coarse.look().position == 4000
    assert fine.look().position == 16000


def test_the_trimmer_moves_the_threshold():
    plain = build(read_options({})).truth().threshold_operate_mm
    keen = build(read_options({"sensitivity": "2"})).truth().threshold_operate_mm

    # 0.889 R becomes 1.198 R at half the threshold (physics of the disc, computed
    # apart from this code)
    assert keen / plain == pytest.approx(1.198 / 0.889, rel=2e-3)
