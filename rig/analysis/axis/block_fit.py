"""Scale and periodic error of the axis from gauge blocks between face and target."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rig.analysis.numbers.gaps import FloatArray
from rig.analysis.numbers.given import column, same_length
from rig.analysis.numbers.uncertainty import coverage_factor, figure
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure

LEAST_BLOCKS = 4  # as many parameters are fitted, and one reading has no block
# Uncertainty of a correction over that of a reading: above it phases of the screw are
# missing among the blocks
LARGEST_RATIO = 3.0
SECOND_FROM = 9  # readings; fewer leave less than three degrees of freedom
# Amplitude at half the lead, which no line and sine shows, over that of the fitted
# sine: half of it at most (common practice, no source)
_SECOND_HARMONIC = 0.5
_PLACES_PER_TURN = 16  # lines between them leave 2 % of the amplitude
_UNLIKELY = 0.999


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockReadings:
    """Where the probe closed on each block, on approach.

    Attributes
    ----------
    lengths_mm : ndarray of float
        Lengths of the blocks, shape (n,); the first is 0, without a block.
    places_mm : ndarray of float
        Commanded place of each contact, mm from home, shape (n,).
    uncertainties_mm : ndarray of float
        Standard uncertainty of each contact and block together, shape (n,), above 0.
    lead_mm : float
        Lead of the screw.
    """

    lengths_mm: FloatArray
    places_mm: FloatArray
    uncertainties_mm: FloatArray
    lead_mm: float

    def __post_init__(self) -> None:
        lengths = column("lengths of the blocks", self.lengths_mm)
        for name, cells in (
            ("places", self.places_mm),
            ("uncertainties", self.uncertainties_mm),
        ):
            same_length(name, column(name, cells).size, "lengths", lengths.size)
        if lengths.size < LEAST_BLOCKS + 1 or lengths[0] != 0.0:
            raise InputError(
                f"{lengths.size - 1} gauge blocks show no scale and no turn of a screw",
                hint=f"give {LEAST_BLOCKS} or more, of different lengths",
            )
        if not self.lead_mm > 0.0 or np.any(self.uncertainties_mm <= 0.0):
            raise InputError("lead and uncertainties have to be above 0")


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockFit:
    """A straight line and one or two sines a turn of the screw through the readings.

    Attributes
    ----------
    scale_error : Figure
        Travel less what is counted, over the latter, %.
    amplitude : Figure
        Amplitude of the error that repeats with every turn, mm.
    residuals_mm : ndarray of float
        What each reading is off the fit by, shape (n,).
    largest_ratio : float
        Largest standard uncertainty of a correction over the blocks' span, over that of
        a reading.
    positions_mm : ndarray of float
        Places of the correction table, mm from home, rising, shape (m,).
    corrections_mm : ndarray of float
        Actual minus commanded place at each, 0 at the datum, shape (m,).
    standard_uncertainty_mm : ndarray of float
        Standard uncertainty of each, 0 at the datum, shape (m,).
    statements : tuple[str, ...]
        What the fit falls short of, as clauses.
    """

    scale_error: Figure
    amplitude: Figure
    residuals_mm: FloatArray
    largest_ratio: float
    positions_mm: FloatArray
    corrections_mm: FloatArray
    standard_uncertainty_mm: FloatArray
    statements: tuple[str, ...]


def block_fit(readings: BlockReadings) -> BlockFit:
    """Fit scale and periodic error.

    Parameters
    ----------
    readings : BlockReadings
        n of at least 5, the contact without a block among them.

    Returns
    -------
    BlockFit
        The table reaches a turn of the screw beyond the longest block and half a turn
        behind the datum.

    Raises
    ------
    InputError
        If the lengths leave phases of the screw uncovered.

    Notes
    -----
    Weighted least squares on L - (D - C) = d + b (D - C) + a1 [sin t(D) - sin t(C)] +
    a2 [cos t(D) - cos t(C)], t(x) = 2 pi x / lead, where C is the place of the contact
    on a block of length L and D that without a block; d takes up the scatter of D. The
    covariance is that of the stated uncertainties, or the residuals' where these are
    larger, then with Student's factor over the normal one (JCGM 100:2008 (GUM), G.3).
    From `SECOND_FROM` readings on, what repeats twice a turn is fitted too, if their
    phases tell it. Else, with any amplitude up to half of the one
    that was found (a rectangle, 4.3.7) and any phase, it is part of the uncertainty of
    each correction, unless the residuals show more already.
    """
    x, u = readings.places_mm, readings.uncertainties_mm
    datum, lead = float(x[0]), readings.lead_mm
    waves = _waves_that_can_be_told(readings)
    design = np.column_stack([np.ones(x.size), _slopes(x, datum, lead, waves)])
    y = readings.lengths_mm - (datum - x)
    weighted = design / u[:, np.newaxis]
    covariance = _covariance(weighted)
    fitted = covariance @ (weighted.T @ (y / u))
    residuals = y - design @ fitted
    dof = x.size - design.shape[1]
    chi = float(np.sum((residuals / u) ** 2)) / dof
    widened = max(1.0, math.sqrt(chi))
    if chi > 1.0:
        widened *= float(coverage_factor(dof)) / float(coverage_factor(math.inf))
    stated, covariance = covariance, covariance * widened**2
    places = _grid(datum, float(readings.lengths_mm.max()), lead)
    slopes = _slopes(places, datum, lead, waves)
    of_fit = _sd(slopes, covariance[1:, 1:])
    spanned = (places >= x.min()) & (places <= datum)
    largest = float(of_fit[spanned].max()) / (widened * float(np.median(u)))
    if largest > LARGEST_RATIO:
        raise InputError(
            "the lengths of these blocks leave phases of the screw uncovered: a"
            f" correction would be {largest:.1f} times as uncertain as a reading",
            hint="choose lengths that are not alike after whole turns of the screw",
        )
    return BlockFit(
        scale_error=_figure(
            100.0 * fitted[1], 100.0 * math.sqrt(covariance[1, 1]), "%", x.size
        ),
        amplitude=_amplitude(fitted[2:4], covariance[2:4, 2:4], x.size),
        residuals_mm=residuals,
        largest_ratio=largest,
        positions_mm=places,
        corrections_mm=-(slopes @ fitted[1:]),
        standard_uncertainty_mm=of_fit
        if waves == 2
        else np.maximum(
            of_fit,
            np.hypot(
                _sd(slopes, stated[1:, 1:]),
                _unfitted(places, datum, lead, fitted[2:], stated[2:, 2:]),
            ),
        ),
        statements=_statements(chi, dof, residuals),
    )


def _waves_that_can_be_told(readings: BlockReadings) -> int:
    """Return 2 where the readings tell what repeats twice a turn, else 1."""
    x, datum = readings.places_mm, float(readings.places_mm[0])
    if x.size < SECOND_FROM:
        return 1
    design = np.column_stack([np.ones(x.size), _slopes(x, datum, readings.lead_mm, 2)])
    size = np.sqrt(np.sum(design**2, axis=0))
    if np.any(size == 0.0) or np.linalg.matrix_rank(design / size, tol=1e-3) < 6:
        return 1
    places = np.linspace(float(x.min()), datum, 200)
    covariance = np.linalg.inv(design.T @ design)
    slopes = _slopes(places, datum, readings.lead_mm, 2)
    largest = float(_sd(slopes, covariance[1:, 1:]).max())
    return 2 if largest <= LARGEST_RATIO else 1


def ratio_of_lengths(lengths_mm: FloatArray, lead_mm: float) -> float:
    """Tell beforehand how well blocks cover the turns of a screw.

    Parameters
    ----------
    lengths_mm : ndarray, shape (n,)
        Lengths of the blocks, the 0 without one among them.
    lead_mm : float
        Lead of the screw, mm.

    Returns
    -------
    float
        Largest standard uncertainty of a correction over their span, over that of a
        reading; infinite if the parameters cannot be told apart.
    """
    longest = float(lengths_mm.max())
    design = np.column_stack(
        [np.ones(lengths_mm.size), _slopes(longest - lengths_mm, longest, lead_mm)]
    )
    try:
        covariance = _covariance(design)
    except InputError:
        return math.inf
    places = np.linspace(0.0, longest, 200)
    slopes = _slopes(places, longest, lead_mm)
    return float(_sd(slopes, covariance[1:, 1:]).max())


def _covariance(weighted: FloatArray) -> FloatArray:
    # Columns of like size, so that the rank does not depend on units
    size = np.sqrt(np.sum(weighted**2, axis=0))
    if np.any(size == 0.0) or np.linalg.matrix_rank(weighted / size, tol=1e-6) < 4:
        raise InputError(
            "these lengths cannot tell the scale from the turns of the screw",
            hint="choose lengths that are not alike after whole turns of the screw",
        )
    found = np.linalg.inv(weighted.T @ weighted)
    return np.asarray(found, dtype=np.float64)


def _slopes(
    places: FloatArray, datum_mm: float, lead_mm: float, waves: int = 1
) -> FloatArray:
    """Derivatives of a gap's correction by scale, sines and cosines, a row a place."""
    columns = [datum_mm - places]
    for wave in range(1, waves + 1):
        turn = 2.0 * math.pi * wave / lead_mm
        columns += [
            math.sin(turn * datum_mm) - np.sin(turn * places),
            math.cos(turn * datum_mm) - np.cos(turn * places),
        ]
    return np.column_stack(columns)


def _unfitted(
    places: FloatArray,
    datum_mm: float,
    lead_mm: float,
    parts: FloatArray,
    covariance: FloatArray,
) -> FloatArray:
    """Standard uncertainty by an error of half the lead, shape (n,)."""
    # Scatter of the parts makes their length too large
    square = float(parts @ parts - np.trace(covariance))
    amplitude_mm = math.sqrt(max(0.0, square))
    half_chord = np.abs(np.sin(2.0 * math.pi * (datum_mm - places) / lead_mm))
    root_mean_square_mm = _SECOND_HARMONIC * amplitude_mm / math.sqrt(3.0)
    return np.asarray(math.sqrt(2.0) * root_mean_square_mm * half_chord)


def _sd(slopes: FloatArray, covariance: FloatArray) -> FloatArray:
    variance = np.sum((slopes @ covariance) * slopes, axis=1)
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)), dtype=np.float64)


def _grid(datum_mm: float, longest_mm: float, lead_mm: float) -> FloatArray:
    spacing = lead_mm / _PLACES_PER_TURN
    behind, ahead = _PLACES_PER_TURN // 2, math.ceil((longest_mm + lead_mm) / spacing)
    places = datum_mm + spacing * np.arange(-ahead, behind + 1)
    return np.asarray(places[places >= 0.0], dtype=np.float64)


def _figure(value: float, uncertainty: float, unit: str, n: int) -> Figure:
    line = Contribution(
        name="contacts and blocks",
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=float(uncertainty),
        unit=unit,
    )
    return figure(float(value), unit, [line], n=n)


def _amplitude(parts: FloatArray, covariance: FloatArray, n: int) -> Figure:
    amplitude = float(np.hypot(*parts))
    along = parts / amplitude if amplitude > 0.0 else np.array([1.0, 0.0])
    sd = math.sqrt(float(along @ covariance @ along))
    return _figure(amplitude, sd, "mm", n)


def _statements(chi: float, dof: int, residuals: FloatArray) -> tuple[str, ...]:
    # Deferred: it is slow to load
    from scipy.special import chdtri

    if chi * dof <= float(chdtri(dof, 1.0 - _UNLIKELY)):
        return ()
    largest_um = 1000.0 * float(np.abs(residuals).max())
    return (
        f"readings lie up to {largest_um:.1f} µm off the line and sine, more than"
        " contacts and blocks explain: a block was not clean, or the screw has another"
        " error; the uncertainty is widened by it",
    )
