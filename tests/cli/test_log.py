"""`gapsweep log`, and a replay: the same command with the trace as its rig."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

TOUCH_OFF = ("touch-off", "--rig")


def test_a_trace_is_shown_and_replayed_byte_for_byte(
    gapsweep: Callable[..., Any], own_place: Path
) -> None:
    rig = "sim://?seed=3&fault=garble_to_host:0.003"
    first = gapsweep(*TOUCH_OFF, rig, "--trace", "wire.trace", "--json")
    again = gapsweep(*TOUCH_OFF, "trace://wire.trace", "--trace", "2.trace", "--json")

    assert first.status == again.status == 0
    found, found_again = json.loads(first.out), json.loads(again.out)
    assert found.pop("found_at") != found_again.pop("found_at")  # by the wall's clock
    assert found == found_again
    events = [
        [line for line in Path(name).read_text().splitlines() if line[0] != "#"]
        for name in ("wire.trace", "2.trace")
    ]
    assert events[0] == events[1]

    shown = gapsweep("log", "wire.trace")
    told = json.loads(gapsweep("log", "wire.trace", "--json").out)

    assert told["document"] == "log"
    assert told["damaged_from_rig"] > 0
    assert told["words"]["hail"] >= 2
    assert any("software" in line for line in told["head"])
    assert "touch" in shown.out
    assert f"damaged 0 and {told['damaged_from_rig']}" in shown.out


def test_a_file_that_is_no_trace_is_told_so(
    gapsweep: Callable[..., Any], own_place: Path
) -> None:
    Path("other.txt").write_text("hello\n")

    shown = gapsweep("log", "other.txt")
    played = gapsweep(*TOUCH_OFF, "trace://other.txt")

    assert shown.status == played.status == 2
    assert "other.txt is no trace of a wire" in shown.err
    assert "other.txt is no trace of a wire" in played.err
