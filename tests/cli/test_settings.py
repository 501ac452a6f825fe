"""What a rig is built like: read, changed and refused, on the simulated rig."""

from __future__ import annotations

import json

import pytest

from firmware_protocol.messages import HomeAnswer, HomeRequest, Trait
from rig.cli.main import run
from rig.errors import InputError
from rig.model.settings import BenchSettings
from rig.procedures.rig_settings import change_settings, name_of, read_settings
from rig.wiring import connect

RIG = "sim://?pace=fast"


def test_settings_are_changed_and_told(capsys: pytest.CaptureFixture[str]) -> None:
    # The travel cannot go below the way of the home search: that one goes first
    words = ["--set", "travel_high=3000", "--set", "home_search=2000"]
    status = run(["settings", "--rig", RIG, "--name", "bench-7", *words, "--json"])
    told = json.loads(capsys.readouterr().out)

    assert status == 0
    assert told["name"] == "bench-7"
    assert told["settings"]["travel_high"] == 3000
    assert told["settings"]["home_search"] == 2000


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--set", "travel_high=0"], "refuses travel_high=0"),
        (["--set", "screw=2"], "a setting and a whole number"),
        (["--set", "serial=x"], "a setting and a whole number"),
        (["--name", "bench 7"], "no name for a rig"),
    ],
)
def test_what_does_not_fit_is_said_in_a_sentence(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert run(["settings", "--rig", RIG, *words]) == 2
    assert said in capsys.readouterr().err


def test_nothing_is_changed_once_the_axis_is_in_motion() -> None:
    rig = connect(RIG, BenchSettings())
    link = rig.mover.link
    before = read_settings(link)

    link.request(HomeRequest, HomeAnswer, fast=1000, slow=400)
    with pytest.raises(InputError, match="`seeking`"):
        change_settings(link, {Trait.HOME_CLEAR: 300, **name_of("other")})

    assert read_settings(link) == before
    link.stop()
    rig.close()
