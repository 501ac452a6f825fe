"""Runs of invented sensors, written by hand: ten sweeps, two speeds, one void."""

from __future__ import annotations

import functools
import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rig.analysis.run.run_figures import run_figures
from rig.inquiry.recorded_run import evaluated_run
from rig.model.sweeps import Conditions, Run, Sweep
from rig.report.runs_page import run_report
from tests import builders

from .chromium import CHROMIUM, Chromium

BEGUN = datetime(2024, 5, 6, 8, 0, tzinfo=UTC)
MADE = datetime(2024, 5, 6, 12, 30, tzinfo=UTC)
SCATTER_ON = (2, -3, 4, 1, -5, 3, 0, -2, 6, -4)
SCATTER_OFF = (-1, 3, 2, -4, 5, 0, -3, 1, -2, 4)
SPEEDS = (1.0, 4.0)
VOID = "an edge came outside the expected band"


def conditions(*, simulated: bool = True) -> Conditions:
    return builders.conditions(
        simulated=simulated,
        firmware_version="1.2.0",
        boot_number=17,
        datum={
            "position_steps": 20000.3,
            "degrees_of_freedom": 4.0,
            "n": 5,
            "found_at": BEGUN - timedelta(minutes=6),
        },
        operator="second shift",
        note="from the delivery of the first week",
    )


def sweep(index: int, *, void: str = "") -> Sweep:
    """4 mm and 4.5 mm, 0.04 mm backlash, delays 5 ms and 2 ms, a few steps' scatter."""
    speed = SPEEDS[index % 2]
    place = index % len(SCATTER_ON)
    on = 20000 - 4.0 * 1600 + speed * 0.005 * 1600 + SCATTER_ON[place]
    off = 20000 - 4.54 * 1600 - speed * 0.002 * 1600 + SCATTER_OFF[place]
    edges = [
        builders.edge(
            int(steps),
            level=approaching,
            approaching=approaching,
            number=2 * index + k,
            time_us=1_000_000 * index + 400_000 * k,
        )
        for k, (steps, approaching) in enumerate([(on, True), (off, False)])
    ]
    return builders.sweep(
        index,
        edges[:1] if void else edges,
        speed_mm_s=speed,
        void=void,
        ended_at=BEGUN + timedelta(seconds=4 * index),
    )


def make_run(
    *,
    simulated: bool = True,
    sweeps: int = 10,
    void_index: int | None = 6,
    sensor_name: str = "level 18, nest 3",
    run_id: str = "run-20240506-080000",
) -> Run:
    return builders.run(
        [sweep(k, void=VOID if k == void_index else "") for k in range(sweeps)],
        ended_at=BEGUN + timedelta(minutes=1),
        run_id=run_id,
        sensor={"name": sensor_name, "switching_frequency_hz": 50.0},
        sweeps_wanted=sweeps,
        speeds_mm_s=SPEEDS,
        conditions=conditions(simulated=simulated),
        started_at=BEGUN,
    )


def at_one_speed(run: Run) -> Run:
    """The same run with its even sweeps alone."""
    return replace(run, sweeps=run.sweeps[::2])


@functools.cache
def report(*runs: Run, title: str = "Incoming inspection") -> str:
    found = [evaluated_run(run, run_figures(run)) for run in runs]
    return run_report(found, title=title, generated_at=MADE)


@pytest.fixture
def run() -> Run:
    return make_run()


@pytest.fixture(scope="session")
def browser():
    if CHROMIUM is None:
        reason = "the package `chromium` is not installed, so no page is rendered"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    with Chromium() as chromium:
        yield chromium
