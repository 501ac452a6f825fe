from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from firmware_protocol.conformance.controllers.bench import FIRMWARE


def _make(target: str, build: Path, **variables: str) -> str:
    settings = [f"{name}={value}" for name, value in variables.items()]
    done = subprocess.run(
        ["make", "-C", str(FIRMWARE), target, f"BUILD={build}", *settings],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return done.stdout


@pytest.mark.long
def test_unit_tests_pass_and_run_95_percent_of_the_core(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "gcc", "gcov")

    assert "core: " in _make("coverage", tmp_path / "build")


@pytest.mark.long
def test_sanitized_unit_tests_pass(needs: Callable[..., None], tmp_path: Path) -> None:
    needs("make", "gcc")

    assert "tests passed" in _make("test", tmp_path / "build")


@pytest.mark.long
def test_both_compilers_and_cppcheck_find_nothing(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "gcc", "avr-gcc", "cppcheck")

    _make("lint", tmp_path / "build")


def test_the_image_leaves_a_fifth_of_flash_and_memory(
    needs: Callable[..., None], tmp_path: Path
) -> None:
    needs("make", "avr-gcc")

    said = _make("avr", tmp_path / "build")

    assert "flash " in said
    assert "memory " in said
