"""The main job on the real image: real pace, a real port, and the board's truth."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from firmware_protocol.conformance.controllers.bench import FIRMWARE, build
from tests.patience import PATIENCE_S

STEPS_PER_MM = 1600.0
FACE_STEPS = 12_000
OPERATE_STEPS = 7_317  # of the target, from the home switch
RELEASE_STEPS = 6_934
BACKLASH_STEPS = 29
GAPSWEEP = (sys.executable, "-c", "from rig.cli.main import main; main()")


@contextmanager
def served_board() -> Iterator[str]:
    """Serve the image on its board in real time; yields the pseudo-terminal."""
    image, board = build("atmega328p.elf"), build("avr_board")
    world = {
        "probe_at": FACE_STEPS,
        "operate_at": OPERATE_STEPS,
        "release_at": RELEASE_STEPS,
        "backlash": BACKLASH_STEPS,
    }
    values = [f"{name}={value}" for name, value in world.items()]
    process = subprocess.Popen(
        [board, *values, image],
        cwd=FIRMWARE,
        stdin=subprocess.PIPE,  # it ends when this is closed
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    try:
        yield process.stdout.readline().strip()
    finally:
        process.stdin.close()
        process.wait(PATIENCE_S)
        process.stdout.close()


@pytest.mark.alone
@pytest.mark.long
def test_the_image_measures_what_the_board_knows(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "gcc", "avr-gcc")
    asked = ["--sensor", "gate-8", "--target", "steel", "--sweeps", "6", "--json"]

    with served_board() as port:
        done = subprocess.run(
            [*GAPSWEEP, "sweep", "--rig", port, *asked, "--records", tmp_path / "r"],
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )

    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["simulated"] is True  # there is no machine behind this board
    assert [sweep["void"] for sweep in found["sweeps"]] == [None] * 6
    # The input is looked at after each pulse, so the first step at or beyond the place
    # switches; the middle of that step is half a step early
    truth = {
        "operate_mm": (FACE_STEPS - OPERATE_STEPS) / STEPS_PER_MM,
        "release_mm": (FACE_STEPS - RELEASE_STEPS) / STEPS_PER_MM,
        "differential_travel_mm": (OPERATE_STEPS - RELEASE_STEPS) / STEPS_PER_MM,
    }
    for name, true_mm in truth.items():
        error_mm = found[name]["value"] - true_mm
        assert abs(error_mm) <= found[name]["expanded_uncertainty"], (name, error_mm)
        assert abs(error_mm) <= 1.5 / STEPS_PER_MM, (name, error_mm)
