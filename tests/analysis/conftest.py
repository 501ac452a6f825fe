"""Builds runs of an invented level sensor from bare step counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

import pytest

from rig.model.mounted import (
    Axis,
    Backlash,
    BacklashSource,
    Datum,
    Principle,
    Sensor,
    Target,
)
from rig.model.sweeps import Conditions, Edge, Run, RunHeader, Sweep

NOW = datetime(2024, 5, 6, 8, 0, tzinfo=UTC)
MakeRun = Callable[..., Run]


def edge(position_steps: int, *, approaching: bool, level: bool) -> Edge:
    return Edge(
        number=0,
        level=level,
        position_steps=position_steps,
        time_us=0,
        approaching=approaching,
    )


def sweep(index: int, operate: int, release: int, speed: float, void: str) -> Sweep:
    on = edge(operate, approaching=True, level=True)
    off = edge(release, approaching=False, level=False)
    return Sweep(
        index=index,
        speed_mm_s=speed,
        operate=on,
        release=off,
        edges=(on, off),
        void=void,
        ended_at=NOW,
    )


@pytest.fixture
def make_run() -> MakeRun:
    def make(
        operate: Sequence[int],
        release: Sequence[int],
        speeds: Sequence[float],
        *,
        voids: Sequence[str] = (),
        frequency_hz: float | None = None,
        backlash_source: BacklashSource = BacklashSource.PROBE,
        home_shift_steps: int | None = 0,
        axis_mm: float = 0.001,
        probe_mm: float = 0.002,
    ) -> Run:
        reasons = tuple(voids) or ("",) * len(operate)
        measured = backlash_source is not BacklashSource.NOT_MEASURED
        conditions = Conditions(
            simulated=True,
            rig_id="bench-1",
            firmware_version="1.0",
            protocol_version="1.0",
            boot_number=1,
            axis=Axis(steps_per_mm=1600.0, standard_uncertainty_mm=axis_mm),
            datum=Datum(
                position_steps=20000.0,
                standard_uncertainty_mm=0.0005,
                degrees_of_freedom=9.0,
                n=10,
                probe_uncertainty_mm=probe_mm,
                found_at=NOW,
            ),
            backlash=Backlash(
                value_mm=0.04 if measured else 0.0,
                standard_uncertainty_mm=0.0008 if measured else 0.0,
                degrees_of_freedom=4.0 if measured else 0.0,
                n=5 if measured else 0,
                source=backlash_source,
            ),
        )
        header = RunHeader(
            run_id="r1",
            sensor=Sensor(
                name="level 18",
                principle=Principle.CAPACITIVE,
                size_mm=18.0,
                rated_distance_mm=8.0,
                switching_frequency_hz=frequency_hz,
            ),
            target=Target(
                name="reference plate", material="steel", thickness_mm=1.0, earthed=True
            ),
            sweeps_wanted=len(operate),
            speeds_mm_s=tuple(dict.fromkeys(speeds)),
            conditions=conditions,
            software_version="0",
            started_at=NOW,
        )
        return Run(
            header=header,
            sweeps=tuple(
                sweep(i, *rest)
                for i, rest in enumerate(
                    zip(operate, release, speeds, reasons, strict=True)
                )
            ),
            ended_at=NOW,
            home_shift_steps=home_shift_steps,
        )

    return make
