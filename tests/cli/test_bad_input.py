"""Bad input: one sentence, the right exit status, and nothing on record is lost."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]
USAGE, RIG = 2, 3
MOUNTED = ("--sensor", "level-18", "--target", "steel")


@pytest.mark.long
def test_what_a_process_says_of_bad_input_is_two_lines_on_standard_error(
    gapsweep_process: Gapsweep,
) -> None:
    outcome = gapsweep_process("sweep", "--rig", "no-such-port", *MOUNTED)

    assert (outcome.status, outcome.out) == (RIG, "")
    assert outcome.err == (
        "gapsweep: there is no port no-such-port\n"
        "  `gapsweep rigs` lists what is connected\n"
    )


@pytest.mark.parametrize(
    ("arguments", "status", "sentence", "hint"),
    [
        ((), USAGE, "Missing option '--rig'", ""),
        (
            ("--rig", ""),
            USAGE,
            "Invalid value for '--rig' (env var: 'GAPSWEEP_RIG'): is empty; give a "
            "port, or sim:// for the simulation",
            "",
        ),
        (("--rig", "sim://", "--sweps", "3"), USAGE, "No such option '--sweps'", ""),
        (("--rig", "/", *MOUNTED), RIG, "there is no port /", "`gapsweep rigs`"),
        (
            ("--rig", "bus://7", *MOUNTED),
            RIG,
            "'bus://7' is no port that can be opened",
            "`gapsweep rigs`",
        ),
        (
            ("--rig", "socket://127.0.0.1:1", *MOUNTED),
            RIG,
            "there is no port socket://127.0.0.1:1",
            "`gapsweep rigs`",
        ),
        (
            ("--rig", "sim://bench"),
            USAGE,
            "'sim://bench' is not the name of a simulated rig",
            "options stand after a question mark",
        ),
        (
            ("--rig", "sim://?colour=red"),
            USAGE,
            "simulated rig: there is no option 'colour' (value 'red'); there are ",
            "",
        ),
        (
            ("--rig", "sim://?seed=x"),
            USAGE,
            "simulated rig: option seed is 'x', but should be a whole number from 0",
            "",
        ),
        (
            ("--rig", "sim://", "--sensor", "level18"),
            USAGE,
            "there is no sensor 'level18' in the catalogue",
            "did you mean 'level-18'?",
        ),
        (
            ("--rig", "sim://", "--target", "nope"),
            USAGE,
            "there is no target 'nope' in the catalogue",
            "known: steel, ",
        ),
        (
            ("--rig", "sim://?sensor=inductive", "--sensor", "level-18"),
            USAGE,
            "level-18 is capacitive, and the simulated rig was asked to have a sensor "
            "that is inductive",
            "leave sensor= out of the rig's name",
        ),
        (
            ("--rig", "sim://", "--sweeps", "0"),
            USAGE,
            "sweeps is 0: it must be 1 to 10000",
            "",
        ),
        (
            ("--rig", "sim://", "--sweeps", "some"),
            USAGE,
            "Invalid value for '--sweeps': 'some' is not a valid integer.",
            "",
        ),
        (
            ("--rig", "sim://", "--speeds", "1:4"),
            USAGE,
            "speeds, number 1, is '1:4', not a number",
            "give a number such as 21.5 or 21,5, without its unit",
        ),
        (
            ("--rig", "sim://", "--speeds", "20"),
            USAGE,
            "speed 20 mm/s is out of range: it must be 0.05 to 10 mm/s",
            "",
        ),
        (
            ("--rig", "sim://", "--speeds", "nan"),
            USAGE,
            "speeds, number 1, is 'nan', not a number",
            "give a number such as 21.5 or 21,5, without its unit",
        ),
        (
            ("--rig", "sim://", "--temperature", "nan"),
            USAGE,
            "Invalid value for '--temperature': it is 'nan', not a number; give a"
            " number such as 21.5 or 21,5, without its unit.",
            "",
        ),
        (
            ("--rig", "sim://", "--temperature", "293.15"),
            USAGE,
            "--temperature is 293.15: give the ambient temperature in °C, -50 to 100",
            "",
        ),
        (
            ("--rig", "sim://", "--catalogue", "none.toml"),
            USAGE,
            "there is no file none.toml",
            "",
        ),
    ],
)
def test_a_wrong_sweep_is_told_what_is_wrong_and_what_would_be_right(
    gapsweep: Gapsweep,
    arguments: tuple[str, ...],
    status: int,
    sentence: str,
    hint: str,
) -> None:
    outcome = gapsweep("sweep", *arguments)

    assert (outcome.status, outcome.out) == (status, "")
    assert outcome.sentence.startswith(sentence)
    assert hint in outcome.hint


def test_bad_input_to_sweep_leaves_the_records_as_they_were(
    gapsweep: Gapsweep, measured: Measured
) -> None:
    run_id = measured()
    before = gapsweep("show", run_id, "--json").document

    gapsweep("sweep", "--rig", "sim://", "--sensor", "nope")
    gapsweep("sweep", "--rig", "no-such-port", *MOUNTED)
    gapsweep("sweep", "--rig", "sim://?fault=too_new")

    listed = gapsweep("results", "--json").document["runs"]
    assert [run["run_id"] for run in listed] == [run_id]
    assert gapsweep("show", run_id, "--json").document == before


@pytest.mark.parametrize(
    ("fault", "sentence", "hint"),
    [
        (
            "sensor_dead",
            "level-18 cannot be measured: never switches. ",
            "likely: no supply or a broken wire",
        ),
        (
            "sensor_on",
            "level-18 cannot be measured: on at the far end. ",
            "likely: the sensor set too sensitive",
        ),
        ("supply_lost", "the rig stopped: the sensor's supply is gone", "24 V supply"),
        ("home_broken", "the rig stopped: the home switch was not found", "wiring"),
        ("home_stuck", "the rig stopped: the home switch does not open", "wiring"),
        (
            "axis_reversed",
            "the rig stopped: the touch probe closed while homing, ",
            "swap the two wires of one motor phase",
        ),
        (
            "starts_touching,home_shorted",
            "the rig refuses `home`: it finds the touch probe and the home switch both",
            "turn it away by hand",
        ),
        pytest.param(
            "probe_dead",
            "the touch probe did not close",
            "check the probe",
            marks=pytest.mark.strikes,
        ),
        ("restart_at", "the rig at sim://?fault=restart_at restarted", "touch off"),
        ("hang_up", "the simulated rig sim://?fault=hang_up hung up", ""),
    ],
)
def test_a_bench_that_cannot_be_measured_is_told_in_plain_words(
    gapsweep: Gapsweep, fault: str, sentence: str, hint: str
) -> None:
    outcome = gapsweep("sweep", "--rig", f"sim://?fault={fault}", "--json")

    found = outcome.document
    assert (outcome.status, found["document"]) == (RIG, "error")
    assert found["message"] == outcome.sentence
    assert outcome.sentence.startswith(sentence)
    assert hint in outcome.hint


def test_chatter_ends_the_run_and_keeps_the_sweeps_before_it(
    gapsweep: Gapsweep,
) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://?fault=chatter", "--sweeps", "1000")

    (run,) = gapsweep("results", "--json").document["runs"]
    sweeps = gapsweep("show", run["run_id"], "--json").document["sweeps"]
    assert outcome.status == RIG
    assert outcome.sentence.startswith("3 sweeps in a row are void, the last: ")
    assert len(sweeps) == run["good_sweeps"] + run["void_sweeps"] >= 3
    assert all(sweep["void"] for sweep in sweeps[-3:])


def test_lost_steps_make_the_run_void_and_leave_it_on_record(
    gapsweep: Gapsweep,
) -> None:
    rig = "sim://?fault=lost_steps:30&home_um=0"
    outcome = gapsweep("sweep", "--rig", rig, "--sweeps", "4")

    (run,) = gapsweep("results", "--json").document["runs"]
    assert outcome.status == RIG
    assert outcome.sentence.startswith(f"run {run['run_id']} is void: ")
    assert "steps were lost" in run["void"]
    assert run["good_sweeps"] == 4
    assert run["operate_mm"] is None


def test_a_stroke_too_short_is_told_both_lengths(gapsweep: Gapsweep) -> None:
    Path("own.toml").write_text(
        '[[sensor]]\nname = "far-80"\nprinciple = "capacitive"\nsize_mm = 80\n'
        "rated_distance_mm = 60\n",
        "utf-8",
    )

    outcome = gapsweep(
        *("sweep", "--rig", "sim://", "--sensor", "far-80"),
        *("--catalogue", "own.toml"),
    )

    assert outcome.status == RIG
    # 1.43 times the rated distance and 2 mm of run-up
    assert re.fullmatch(
        r"the stroke is too short for far-80: it reaches a gap of 29\.\d mm and "
        r"87\.8 mm are needed",
        outcome.sentence,
    )
    assert outcome.hint == "mount the sensor further from the home switch"


def test_a_plan_with_a_wrong_field_is_told_file_line_and_field(
    gapsweep: Gapsweep, records: Path
) -> None:
    Path("week.toml").write_text(
        'title = "Week 12"\n[[run]]  # all of them\nsensors = ["level-18"]\n'
        'targets = ["steel"]\nsweps = 3\n',
        "utf-8",
    )

    outcome = gapsweep("run", "week.toml", "--rig", "sim://")

    assert outcome.status == USAGE
    assert outcome.sentence == "week.toml, line 5: unknown field 'sweps' in run 1"
    assert outcome.hint == "did you mean 'sweeps'?"
    assert not records.exists()


def test_a_plan_file_that_is_not_there_or_a_folder_is_told_so(
    gapsweep: Gapsweep,
) -> None:
    none = gapsweep("run", "none.toml", "--rig", "sim://")
    folder = gapsweep("run", ".", "--rig", "sim://")

    assert (none.status, none.sentence) == (USAGE, "there is no file none.toml")
    assert (folder.status, folder.sentence) == (
        USAGE,
        ". is a folder, and a file is needed",
    )


@pytest.mark.parametrize("target", ["gold", "steel"])
def test_a_material_that_the_simulation_does_not_know_is_told_with_those_it_does(
    gapsweep: Gapsweep, target: str
) -> None:
    Path("own.toml").write_text(
        f'[[target]]\nname = "{target}"\nmaterial = "gold"\nthickness_mm = 1\n', "utf-8"
    )

    outcome = gapsweep(
        "sweep", "--rig", "sim://", "--target", target, "--catalogue", "own.toml"
    )

    assert outcome.status == USAGE
    assert outcome.sentence == (
        f"the simulated rig knows no material 'gold' (of {target})"
    )
    assert outcome.hint.startswith("known: ")
