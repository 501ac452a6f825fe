"""One study of a gauge of each kind, of invented readings."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from rig.inquiry.gauge_readings import GaugeReading, GaugeReadings
from rig.inquiry.gauge_study import (
    GaugeResult,
    agreement_of,
    components_of,
    linearity_of,
    single_gauge_of,
    stability_of,
)
from rig.inquiry.runs_behind import RunBehind
from rig.report.gauge_page import gauge_report

from .conftest import MADE

APPRAISERS = ("Kim", "Lee", "Noor")


def readings_of(
    rows: list[GaugeReading[float]], runs: tuple[RunBehind, ...] = ()
) -> GaugeReadings[float]:
    return GaugeReadings(
        title="level-18 against steel",
        figure="operate",
        unit="mm",
        readings=tuple(rows),
        runs=runs,
        simulated=len(runs),
        statements=("Left out, attempts without figures: 1.",) if runs else (),
    )


def of_components(runs: tuple[RunBehind, ...] = ()) -> GaugeResult:
    rng = np.random.default_rng(4)
    rows = [
        GaugeReading(
            part=f"P{part}",
            appraiser=who,
            value=8.0 + 0.1 * part + 0.01 * k + float(rng.normal(0.0, 0.004)),
            occasion="",
        )
        for part in range(6)
        for k, who in enumerate(APPRAISERS)
        for _ in range(1 + (part + k) % 3)
    ]
    return components_of(readings_of(rows, runs), tolerance=0.4)


def of_agreement() -> GaugeResult:
    rng = np.random.default_rng(4)
    rows = [
        GaugeReading(
            part=f"P{part}",
            appraiser=who,
            value=str(rng.choice(["conforms", "fails"], p=chances)),
            occasion="",
            reference="conforms" if part % 3 else "fails",
        )
        for part in range(20)
        for who in APPRAISERS
        for _ in range(2)
        for chances in ([[0.95, 0.05]] if part % 3 else [[0.1, 0.9]])
    ]
    return agreement_of(
        GaugeReadings(
            title="ratings.csv", figure="rating", unit="1", readings=tuple(rows)
        )
    )


def of_linearity() -> GaugeResult:
    rng = np.random.default_rng(4)
    rows = [
        GaugeReading(
            part=f"block {place}",
            appraiser="",
            value=1.004 * place - 0.01 + float(rng.normal(0.0, 0.01)),
            occasion="",
            reference=float(place),
        )
        for place in (2, 4, 6, 8, 10)
        for _ in range(6)
    ]
    return linearity_of(readings_of(rows), references={})


def of_stability() -> GaugeResult:
    rng = np.random.default_rng(4)
    rows = [
        GaugeReading(
            part="S-1",
            appraiser="",
            value=8.0 + float(rng.normal(0.0, 0.004)),
            occasion=f"day {day}",
        )
        for day in range(12)
        for _ in range(3)
    ]
    return stability_of(readings_of(rows), reference=8.0)


def of_single_gauge() -> GaugeResult:
    rng = np.random.default_rng(4)
    rows = [
        GaugeReading(
            part="S-1",
            appraiser="Kim",
            value=8.002 + float(rng.normal(0.0, 0.004)),
            occasion="",
        )
        for _ in range(20)
    ]
    return single_gauge_of(readings_of(rows), reference=8.0, tolerance=0.2)


GAUGE_RESULTS: dict[str, Callable[[], GaugeResult]] = {
    "components": of_components,
    "agreement": of_agreement,
    "linearity": of_linearity,
    "stability": of_stability,
    "single-gauge": of_single_gauge,
}


def page_of_gauge(result: GaugeResult, title: str = "Study of a gauge") -> str:
    return gauge_report(result, title=title, generated_at=MADE)
