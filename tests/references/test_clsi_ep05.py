"""CLSI EP05-A3, table A1: glucose on 20 days, 2 runs a day, 2 readings a run.

A nested design: days for appraisers, runs within them for parts. The data are from
memory; the analysis of variance and the interval of the repeatability stand in a public
test suite, to which other data would not lead. The guideline was not opened.
"""

from __future__ import annotations

import pytest

from rig.analysis.study.component_study import ComponentStudy, component_study

# A line a day: first run, second run
READINGS = """
242 246 245 246
243 242 238 238
247 239 241 240
249 241 250 245
246 242 243 240
244 245 251 247
241 246 245 247
245 245 243 245
243 239 244 245
244 246 247 239
252 251 247 241
249 248 251 246
242 240 251 245
246 249 248 240
247 248 245 246
240 238 239 242
241 244 245 248
244 244 237 242
241 239 247 245
247 240 245 242
"""


def of_the_table() -> ComponentStudy:
    rows = [
        (f"run {place // 2}", f"day {day}", float(reading))
        for day, line in enumerate(READINGS.strip().splitlines(), start=1)
        for place, reading in enumerate(line.split())
    ]
    runs, days, readings = zip(*rows, strict=True)
    return component_study(runs, days, readings, nested=True)


@pytest.mark.parametrize(
    ("source", "dof", "squares", "mean_square", "variance"),
    [
        ("appraiser", 19, 415.8, 21.88421, 1.958553),
        ("part within appraiser", 20, 281.0, 14.05, 3.075),
        ("repeatability", 40, 316.0, 7.9, 7.9),
    ],
)
def test_published_analysis_of_variance(
    source: str, dof: int, squares: float, mean_square: float, variance: float
) -> None:
    study = of_the_table()
    row = next(row for row in study.rows if row.source == source)

    assert row.degrees_of_freedom == dof
    assert row.sum_of_squares == pytest.approx(squares, abs=5e-5)
    assert row.mean_square == pytest.approx(mean_square, abs=5e-6)
    assert study.by_mean_squares[source] == pytest.approx(variance, abs=5e-7)
    # Balanced and none below 0: likelihood gives the same
    assert study.components[source] == pytest.approx(variance, abs=5e-6)


def test_published_interval_of_the_repeatability() -> None:
    study = of_the_table()

    # In per cent of the mean; by chi-squared there, from draws here
    per_cent = 100.0 / 244.2
    found = study.intervals.repeatability
    assert study.mean == pytest.approx(244.2)
    assert study.spreads.repeatability * per_cent == pytest.approx(1.1509803, rel=1e-7)
    assert found.lower * per_cent == pytest.approx(0.9449697, rel=0.005)
    assert found.upper * per_cent == pytest.approx(1.472683, rel=0.005)
