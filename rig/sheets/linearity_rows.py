"""Linearity and bias in rows and words."""

from __future__ import annotations

import numpy as np

from rig.analysis.study.linearity import Linearity, PartBias
from rig.inquiry.gauge_study import LinearityResult
from rig.model.rounding import format_p, format_significant, round_to_interval
from rig.sheets.gauge_matter import GaugeMatter, SheetTable
from rig.sheets.interval_rows import interval_row

_DIGITS = 4
_DOUBTFUL = 0.05


def linearity_matter(result: LinearityResult) -> GaugeMatter:
    """Lay the linearity out."""
    found, unit = result.study, result.source.unit
    n = found.biases.size
    return GaugeMatter(
        kind="Linearity and bias",
        lead=f"{len(found.parts)} reference parts: n = {n} readings.",
        figures=(
            interval_row(
                "Slope of the bias",
                f"change over the reference; by chance: {format_p(found.slope_p)}",
                found.slope,
                found.slope_interval,
                unit="1",
                n=n,
            ),
            interval_row(
                "Bias at a reference of 0",
                f"intercept of the line; by chance: {format_p(found.intercept_p)}",
                found.intercept,
                found.intercept_interval,
                unit=unit,
                n=n,
            ),
            interval_row(
                "Mean bias",
                "over all readings",
                found.mean_bias,
                found.mean_bias_interval,
                unit=unit,
                n=n,
            ),
        ),
        tables=(_parts(found, unit),),
        methods=(
            "Line: ordinary least squares of all readings, bias over reference value,"
            f" the references taken as exact. R² {format_significant(found.r_squared)},"
            f" scatter about the line {format_significant(found.residual_sd)} {unit}.",
            "Band: Working and Hotelling; it covers the whole line at once with the"
            " confidence stated. By chance, without any bias:"
            f" {format_p(found.no_bias_p)}.",
        ),
        drawn=_band(found, unit),
        statements=_statements(found),
    )


def _parts(found: Linearity, unit: str) -> SheetTable:
    return SheetTable(
        caption=f"Bias of each part, in {unit}, its interval by its own scatter",
        head=("part", "reference", "n", "bias", "interval"),
        rows=tuple(_part(one) for one in found.parts),
    )


def _part(one: PartBias) -> tuple[str, ...]:
    reference = format_significant(one.reference, _DIGITS + 2)
    if one.interval is None or not one.interval.lower < one.interval.upper:
        shown = format_significant(one.bias, _DIGITS)
        why = "none: one reading" if one.n == 1 else "none: all alike"
        return one.part, reference, str(one.n), shown, why
    shown, low, high = round_to_interval(
        one.bias, one.interval.lower, one.interval.upper
    )
    return one.part, reference, str(one.n), shown, f"{low} to {high}"


def _band(found: Linearity, unit: str) -> str:
    band = found.band
    outside = (band.lower > 0.0) | (band.upper < 0.0)
    words = "Bias of every reading, of each part's mean, and the line with its band. "
    if not np.any(outside):
        return words + "The band holds 0 over the whole range: no bias is shown."
    if np.all(outside):
        return words + "The band lies off 0 over the whole range: there is a bias."
    places = band.reference[outside]
    low, high = (
        format_significant(float(end), 3) for end in (places.min(), places.max())
    )
    return (
        f"{words}The band lies off 0 at references between {low} and {high} {unit}, not"
        " at all of them: there is a bias that depends on the reference."
    )


def _statements(found: Linearity) -> tuple[str, ...]:
    said = []
    if found.lack_of_fit_p is not None and found.lack_of_fit_p < _DOUBTFUL:
        said.append(
            "The means of the parts do not lie on a straight line within their scatter"
            f" ({format_p(found.lack_of_fit_p)}): the line and its band are too sure of"
            " themselves."
        )
    if len(found.parts) < 5:
        said.append(
            f"{len(found.parts)} reference parts say little of a range; common practice"
            " asks for 5."
        )
    return tuple(said)
