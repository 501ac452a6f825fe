"""Accuracy and repeatability of the axis by ISO 230-2; knows no controller."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import block, column, same_length
from rig.analysis.numbers.uncertainty import figure, mean_and_sd
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.number_input import number

DIRECTIONS = ("up", "down")


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisReadings:
    """Deviations from the target positions, actual less target.

    Attributes
    ----------
    targets_mm : ndarray of float
        Target positions, rising, shape (m,).
    up_mm : ndarray of float
        Positions reached with increasing position (approach), shape (m, n).
    down_mm : ndarray of float
        Positions reached with decreasing position (retreat), shape (m, n).
    """

    targets_mm: FloatArray
    up_mm: FloatArray
    down_mm: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisTest:
    """Figures of ISO 230-2; all in mm, s divides by n - 1.

    Attributes
    ----------
    targets_mm : ndarray of float
        Target positions, shape (m,).
    mean_up : ndarray of float
        Mean deviation at each target, up, shape (m,).
    mean_down : ndarray of float
        Mean deviation at each target, down, shape (m,).
    mean_both : ndarray of float
        Mean of both directions at each target, shape (m,).
    sd_up : ndarray of float
        Standard deviation at each target, up, shape (m,).
    sd_down : ndarray of float
        Standard deviation at each target, down, shape (m,).
    reversal_at : ndarray of float
        Reversal value, up less down, at each target, shape (m,).
    reversal : float
        Largest size of the reversal values, B.
    mean_reversal : Figure
        Mean of the reversal values, with its uncertainty.
    repeatability_up : float
        Largest of 4 s up, R up.
    repeatability_down : float
        Largest of 4 s down, R down.
    repeatability : float
        Bidirectional repeatability, R.
    systematic_up : float
        Range of the mean deviations, up, E up.
    systematic_down : float
        Range of the mean deviations, down, E down.
    systematic : float
        Bidirectional systematic deviation, E.
    mean_systematic : float
        Range of the means of both directions, M.
    accuracy_up : float
        Unidirectional accuracy, A up.
    accuracy_down : float
        Unidirectional accuracy, A down.
    accuracy : float
        Bidirectional accuracy, A.
    n : int
        Number of runs in each direction.
    statements : tuple[str, ...]
        What the test falls short of, in words.
    """

    targets_mm: FloatArray
    mean_up: FloatArray
    mean_down: FloatArray
    mean_both: FloatArray
    sd_up: FloatArray
    sd_down: FloatArray
    reversal_at: FloatArray
    reversal: float
    mean_reversal: Figure
    repeatability_up: float
    repeatability_down: float
    repeatability: float
    systematic_up: float
    systematic_down: float
    systematic: float
    mean_systematic: float
    accuracy_up: float
    accuracy_down: float
    accuracy: float
    n: int
    statements: tuple[str, ...]


def readings_from_rows(rows: Sequence[tuple[object, object, object]]) -> AxisReadings:
    """Sort readings as typed in or read from a file.

    Parameters
    ----------
    rows : sequence of (target_mm, direction, deviation_mm)
        Readings in the order taken; direction is "up" or "down", deviation is actual
        less target.

    Returns
    -------
    AxisReadings
        Every target the same number of times in each direction.

    Raises
    ------
    InputError
        If a cell is empty or text, a direction is unknown, or the table is not full.
    """
    cells: dict[tuple[float, str], list[float]] = {}
    for index, (target, direction, deviation) in enumerate(rows, start=1):
        way = str(direction).strip().lower()
        if way not in DIRECTIONS:
            raise InputError(
                f"row {index}: direction is {str(direction)!r}", hint="up or down"
            )
        key = (number(target, f"row {index}: target position"), way)
        cells.setdefault(key, []).append(number(deviation, f"row {index}: deviation"))
    targets = sorted({target for target, _ in cells})
    runs = max((len(values) for values in cells.values()), default=0)
    for target in targets:
        for way in DIRECTIONS:
            found = len(cells.get((target, way), []))
            if found != runs:
                raise InputError(
                    f"target {target:g} mm, {way}: {found} readings, elsewhere {runs}",
                    hint="the same number of runs at every target in both directions",
                )
    return AxisReadings(
        targets_mm=np.array(targets),
        up_mm=np.array([cells[target, "up"] for target in targets]),
        down_mm=np.array([cells[target, "down"] for target in targets]),
    )


def axis_test(
    readings: AxisReadings, *, indicator_uncertainty_mm: float = 0.0
) -> AxisTest:
    """Work out the figures of the axis test.

    Parameters
    ----------
    readings : AxisReadings
        m of at least 2 targets, n of at least 2 runs each way.
    indicator_uncertainty_mm : float
        Standard uncertainty of a difference read on the indicator, for the reversal.

    Returns
    -------
    AxisTest
        In mm.

    Raises
    ------
    InputError
        If targets or runs are too few, a cell is missing or shapes differ.

    Notes
    -----
    ISO 230-2:2014, 3.10 to 3.22 (from memory): B_i = mean up - mean down,
    R_i up = 4 s_i up, R_i = max(2 s up + 2 s down + |B_i|, R_i up, R_i down), E range
    of all unidirectional means, A range of the means with 2 s on both sides. The
    standard asks for five targets in each metre or fewer, and five runs.
    """
    targets, up, down = _checked(readings)
    n = up.shape[1]
    (mean_up, s_up), (mean_down, s_down) = mean_and_sd(up), mean_and_sd(down)
    reversal = mean_up - mean_down
    both = 0.5 * (mean_up + mean_down)
    each = np.maximum(
        2.0 * s_up + 2.0 * s_down + np.abs(reversal), 4.0 * np.maximum(s_up, s_down)
    )
    high = np.maximum(mean_up + 2.0 * s_up, mean_down + 2.0 * s_down)
    low = np.minimum(mean_up - 2.0 * s_up, mean_down - 2.0 * s_down)
    means = np.concatenate([mean_up, mean_down])
    return AxisTest(
        targets_mm=targets,
        mean_up=mean_up,
        mean_down=mean_down,
        mean_both=both,
        sd_up=s_up,
        sd_down=s_down,
        reversal_at=reversal,
        reversal=float(np.abs(reversal).max()),
        mean_reversal=_mean_reversal(up - down, indicator_uncertainty_mm),
        repeatability_up=float(4.0 * s_up.max()),
        repeatability_down=float(4.0 * s_down.max()),
        repeatability=float(each.max()),
        systematic_up=float(np.ptp(mean_up)),
        systematic_down=float(np.ptp(mean_down)),
        systematic=float(np.ptp(means)),
        mean_systematic=float(np.ptp(both)),
        accuracy_up=_range(mean_up + 2.0 * s_up, mean_up - 2.0 * s_up),
        accuracy_down=_range(mean_down + 2.0 * s_down, mean_down - 2.0 * s_down),
        accuracy=_range(high, low),
        n=n,
        statements=_statements(targets.size, n),
    )


def _checked(readings: AxisReadings) -> tuple[FloatArray, FloatArray, FloatArray]:
    targets = column("target positions", readings.targets_mm, at_least=2)
    up = block("readings up", readings.up_mm, dimensions=2)
    down = block("readings down", readings.down_mm, dimensions=2)
    if up.shape != down.shape:
        raise InputError(
            f"{up.shape[1]} runs up and {down.shape[1]} runs down at {up.shape[0]} and"
            f" {down.shape[0]} targets",
            hint="the same number both ways",
        )
    same_length("rows of readings", up.shape[0], "targets", targets.size)
    if up.shape[1] < 2:
        raise InputError("one run each way shows no scatter", hint="five runs each way")
    if np.any(np.diff(targets) <= 0.0):
        raise InputError("the target positions do not rise", hint="sort them")
    return targets, up, down


def _mean_reversal(differences: FloatArray, indicator_mm: float) -> Figure:
    """Mean reversal; its scatter is pooled over the targets, reversal may vary."""
    m, n = differences.shape
    _, s = mean_and_sd(differences)
    pooled = math.sqrt(float(np.mean(np.square(s))))
    return figure(
        float(differences.mean()),
        "mm",
        [
            Contribution(
                name="repeatability of the reversal",
                evaluation=Evaluation.TYPE_A,
                standard_uncertainty=pooled / math.sqrt(m * n),
                unit="mm",
                degrees_of_freedom=float(m * (n - 1)),
            ),
            Contribution(
                name="indicator",
                evaluation=Evaluation.TYPE_B,
                standard_uncertainty=indicator_mm,
                unit="mm",
            ),
        ],
        n=m * n,
        standard_deviation=pooled,
    )


def _range(high: FloatArray, low: FloatArray) -> float:
    return float(high.max() - low.min())


def _statements(m: int, n: int) -> tuple[str, ...]:
    said = []
    if m < 5:
        said.append(f"{m} target positions; ISO 230-2 asks for at least 5")
    if n < 5:
        said.append(f"{n} runs each way; ISO 230-2 asks for 5")
    return tuple(said)
