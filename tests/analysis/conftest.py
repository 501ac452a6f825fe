"""Builds runs of an invented level sensor from bare step counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from rig.model.mounted import BacklashSource
from rig.model.sweeps import Run, Sweep
from tests import builders

MakeRun = Callable[..., Run]


def sweep(index: int, operate: int, release: int, speed: float, void: str) -> Sweep:
    on = builders.edge(operate, approaching=True, level=True)
    off = builders.edge(release, approaching=False, level=False)
    return builders.sweep(index, [on, off], speed_mm_s=speed, void=void)


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
        moved_mm: float | None = 0.0,
        axis_mm: float = 0.001,
        probe_mm: float = 0.002,
    ) -> Run:
        reasons = tuple(voids) or ("",) * len(operate)
        measured = backlash_source is not BacklashSource.NOT_MEASURED
        each = zip(operate, release, speeds, reasons, strict=True)
        return builders.run(
            [sweep(index, *of) for index, of in enumerate(each)],
            home_shift_steps=home_shift_steps,
            moved_mm=moved_mm,
            sensor={"switching_frequency_hz": frequency_hz},
            sweeps_wanted=len(operate),
            speeds_mm_s=tuple(dict.fromkeys(speeds)),
            conditions={
                "axis": {"standard_uncertainty_mm": axis_mm},
                "datum": {"probe_uncertainty_mm": probe_mm},
                "backlash": (
                    {"source": backlash_source} if measured else builders.NO_BACKLASH
                ),
            },
        )

    return make
