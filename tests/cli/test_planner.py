"""Sweeping until an uncertainty is reached, and times told, from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.declared_benches import FINE_BENCH, FINE_RIG

from .conftest import Gapsweep

FINE = "&".join(f"{name}={value}" for name, value in FINE_RIG.items())
ROUNDS = """
title = "Rounds"
sweeps = 4
interleave = true
[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc"]
"""


def test_help_states_the_limit_on_sweeps(gapsweep: Gapsweep) -> None:
    words = " ".join(gapsweep("sweep", "--help").out.split())

    assert "--until MM" in words
    assert "with --until 200" in words
    assert "ends at the limit of --sweeps" in words


@pytest.fixture
def declared(gapsweep: Gapsweep) -> None:
    """Declare the bench: assumed, it is off by more than a few um on its own."""
    numbers = (f"{one.key}={one.value}" for one in FINE_BENCH.values)
    rig = ("--source", "certificate", "--rig", f"sim://?seed=5&{FINE}")
    assert gapsweep("bench", "set", *numbers, *rig).status == 0


@pytest.mark.long
@pytest.mark.usefixtures("declared")
def test_until_five_micrometres_is_reached(gapsweep: Gapsweep) -> None:
    rig = f"sim://?seed=5&{FINE}"
    outcome = gapsweep("sweep", "--rig", rig, "--until", 0.005, "--json")

    operate = outcome.document["operate_mm"]
    assert outcome.status == 0
    assert operate["expanded_uncertainty"] <= 0.005
    assert 8 <= operate["n"] < 200
    assert not any("was to have" in words for words in outcome.document["warnings"])


@pytest.mark.usefixtures("declared")
def test_the_limit_is_a_warning_in_the_document_and_on_standard_error(
    gapsweep: Gapsweep,
) -> None:
    rig = f"sim://?seed=5&noise_um=40&{FINE}"
    command = ("sweep", "--rig", rig, "--until", 0.006, "--sweeps", 9)

    outcome = gapsweep(*command, "--json")

    (warning,) = [w for w in outcome.document["warnings"] if "was to have" in w]
    assert "the limit of 9 sweeps ended the run" in warning
    assert warning in outcome.err
    assert outcome.document["operate_mm"]["n"] == 9
    assert outcome.status == 0


def test_speeds_may_be_left_to_the_planner(gapsweep: Gapsweep) -> None:
    command = ("sweep", "--rig", "sim://?seed=5", "--sweeps", 4, "--json")

    usual = gapsweep(*command).document["sweeps"]
    planned = gapsweep(*command, "--speeds", "auto").document["sweeps"]

    assert {sweep["speed_mm_s"] for sweep in usual} == {1.0, 4.0}
    speeds = {sweep["speed_mm_s"] for sweep in planned}
    assert len(speeds) == 2
    assert max(speeds) / min(speeds) > 4.0


@pytest.mark.parametrize("until", ["0", "-1", "2"])
def test_an_uncertainty_that_makes_no_sense_is_refused(
    gapsweep: Gapsweep, until: str
) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://", "--until", until)

    assert outcome.status == 2
    assert "above 0 and up to 1 mm" in outcome.sentence


@pytest.mark.long
def test_a_plan_tells_its_time_before_it_begins(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    (own_place / "rounds.toml").write_text(ROUNDS, "utf-8")

    outcome = gapsweep("run", "rounds.toml", "--rig", "sim://?seed=5", "--json")

    assert outcome.status == 0
    assert "This takes about" in outcome.err
    assert "mounting by hand counted" in outcome.err
    assert [run["operate_mm"]["n"] for run in outcome.document["runs"]] == [4, 4]
