"""Results: figures with their uncertainty, and the budget behind each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum


class Evaluation(StrEnum):
    """How a contribution was evaluated (GUM 3.3.4)."""

    TYPE_A = "A"
    TYPE_B = "B"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """One line of an uncertainty budget.

    Attributes:
        name: What it is, in words.
        evaluation: Type A (from the readings) or B (from other knowledge).
        standard_uncertainty: Standard uncertainty of the contribution, in `unit`.
        unit: Unit of the standard uncertainty.
        sensitivity: Factor from it to the figure.
        degrees_of_freedom: inf where it is taken as known.
    """

    name: str
    evaluation: Evaluation
    standard_uncertainty: float
    unit: str
    sensitivity: float = 1.0
    degrees_of_freedom: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A figure with its uncertainty, or the words why it has none.

    Attributes:
        value: Value of the figure, in `unit`.
        unit: Unit of value, uncertainty and standard deviation.
        expanded_uncertainty: Expanded uncertainty, about 95 % coverage; None with
            `why_none` set.
        coverage_factor: Student's factor for the effective degrees of freedom.
        effective_degrees_of_freedom: Effective degrees of freedom
            (Welch-Satterthwaite).
        standard_deviation: Standard deviation of a single reading; None for n below 2.
        n: Number of readings behind it.
        budget: The contributions.
        why_none: Why there is no uncertainty; empty if there is.
        pooled_runs: Number of runs whose noise is pooled in it; 0 for none.
    """

    value: float
    unit: str
    expanded_uncertainty: float | None
    coverage_factor: float | None
    effective_degrees_of_freedom: float | None
    standard_deviation: float | None
    n: int
    budget: tuple[Contribution, ...] = ()
    why_none: str = ""
    pooled_runs: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFigures:
    """All figures of one run; a name without "threshold" is the observed point.

    Attributes:
        operate: Observed operate point (mm gap), delay and datum taken care of.
        release: Observed release point (mm gap), backlash removed too.
        differential_travel: Release minus operate (mm).
        differential_travel_percent: Differential travel as share of the operate point
            (%).
        first_passage_bias_operate: How much earlier noise makes it operate (mm).
        first_passage_bias_release: How much earlier noise makes it release (mm).
        threshold_operate: Noise-free threshold: operate less its bias (mm).
        threshold_release: Noise-free threshold: release plus its bias (mm).
        response_time_operate: Slope of the operate point over speed (ms); None with a
            single speed.
        response_time_release: Slope of the release point over speed (ms); None with a
            single speed.
        response_time_both: Both response times together (ms), by the differential
            travel over speed; None with a single speed.
        repeat_accuracy_short_term: Largest less smallest operate point after the
            delay is removed (mm); short term, not the standard's 8 h test. None for a
            run with a timetable.
        repeat_accuracy_8_h: Repeat accuracy over the standard's 8 h test (mm); None
            unless the run is a complete one.
        repeat_accuracy_8_h_percent: Repeat accuracy over the standard's 8 h test, as
            share of the operate point (%).
        repeat_accuracy_timetable: Repeat accuracy over a timetable that is not the 8 h
            test (mm); None for other runs.
        repeat_accuracy_timetable_percent: Repeat accuracy over such a timetable, as
            share of the operate point (%).
        operate_drift: Slope of the operate point over the hours of a timetable
            (mm/h); None without one.
        warnings: Sentences that go wherever the figures go.
        analysis_version: Version of the analysis that made them.
    """

    operate: Figure
    release: Figure
    differential_travel: Figure
    differential_travel_percent: Figure
    first_passage_bias_operate: Figure
    first_passage_bias_release: Figure
    threshold_operate: Figure
    threshold_release: Figure
    response_time_operate: Figure | None
    response_time_release: Figure | None
    response_time_both: Figure | None = None
    repeat_accuracy_short_term: Figure | None
    repeat_accuracy_8_h: Figure | None = None
    repeat_accuracy_8_h_percent: Figure | None = None
    repeat_accuracy_timetable: Figure | None = None
    repeat_accuracy_timetable_percent: Figure | None = None
    operate_drift: Figure | None = None
    warnings: tuple[str, ...]
    analysis_version: str
