"""Every command that moves the axis names the motions before the first of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from rig.errors import Stopped
from rig.procedures.motions_ahead import (
    MotionsAhead,
    blocks_ahead,
    check_ahead,
    numbered,
    places_ahead,
    touch_off_ahead,
    touch_off_and_run_ahead,
)
from rig.procedures.mover import Mover

PLAN = 'title = "Week"\n[[run]]\nsensors = ["level-18"]\ntargets = ["steel"]\n'
BLOCKS = (
    "--blocks",
    "1,1.3,1.6,2.5,5,7.3,8.7",
    "--block-um",
    "0.2",
    "--certificate",
    "GB-1",
)
MOVING: dict[tuple[str, ...], MotionsAhead] = {
    ("check",): check_ahead(),
    ("touch-off",): touch_off_ahead(),
    ("sweep",): touch_off_and_run_ahead(),
    ("run", "plan.toml"): touch_off_and_run_ahead(),
    ("calibrate", "measure", *BLOCKS, "--due", "2030-01-01"): blocks_ahead(),
    ("calibrate", "places", "--lead-mm", "2"): places_ahead(),
}


@pytest.mark.parametrize("words", MOVING, ids=lambda words: " ".join(words[:2]))
def test_the_motions_are_named_before_the_first_one(
    gapsweep: Callable[..., Any],
    monkeypatch: pytest.MonkeyPatch,
    words: tuple[str, ...],
) -> None:
    Path("plan.toml").write_text(PLAN, "utf-8")

    def nothing_moves(*_: object, **__: object) -> None:
        raise Stopped("the first motion would begin here")

    monkeypatch.setattr(Mover, "_carry_out", nothing_moves)

    outcome = gapsweep(*words, "--rig", "sim://")

    assert outcome.status == 3
    assert "the first motion would begin here" in outcome.err
    told = [line.strip() for line in outcome.err.splitlines()]
    named = numbered(MOVING[words])
    begin = told.index(named[0])
    assert told[begin : begin + len(named)] == named
    assert "Keep hands clear" in told[begin - 1]


@pytest.mark.parametrize(
    "words",
    [
        *sorted(
            {words[:2] if words[0] == "calibrate" else words[:1] for words in MOVING}
        ),
        ("study", "measure"),
        ("lot", "part"),
    ],
    ids=" ".join,
)
def test_the_help_names_the_motions(
    gapsweep: Callable[..., Any], words: tuple[str, ...]
) -> None:
    by_name = {given[:2]: motions for given, motions in MOVING.items()}
    by_name |= {given[:1]: motions for given, motions in MOVING.items()}
    motions = by_name.get(words, touch_off_and_run_ahead())

    told = [line.strip() for line in gapsweep(*words, "--help").out.splitlines()]

    named = numbered(motions)
    begin = told.index(named[0])
    assert told[begin : begin + len(named)] == named
