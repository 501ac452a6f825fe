"""Results as JSON documents; plain data, ready for `json.dumps`."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any, Protocol

from rig.cli.output import say
from rig.model.figure_kinds import BUDGET_FIELDS, FIGURE_KINDS, applicable
from rig.model.figures import Figure, RunFigures

if TYPE_CHECKING:
    from rig.model.sweeps import Run


def emit(document: dict[str, Any]) -> None:
    """Write one document to standard output."""
    say(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def finite(value: float | None) -> float | None:
    """Return the value, or None for what JSON has no word for."""
    return value if value is not None and math.isfinite(value) else None


def figure_document(figure: Figure) -> dict[str, Any]:
    """Return a figure with its uncertainty, or the words why it has none."""
    document: dict[str, Any] = {
        "value": finite(figure.value),
        "unit": figure.unit,
        "expanded_uncertainty": finite(figure.expanded_uncertainty),
        "coverage_factor": finite(figure.coverage_factor),
        "effective_degrees_of_freedom": finite(figure.effective_degrees_of_freedom),
        "standard_deviation": finite(figure.standard_deviation),
        "n": figure.n,
    }
    if figure.why_none:
        document["why_no_uncertainty"] = figure.why_none
    return document


def figures_document(figures: RunFigures) -> dict[str, Any]:
    """Return all figures of a run, names with their unit."""
    document: dict[str, Any] = {}
    for kind in FIGURE_KINDS:
        value: Figure | None = getattr(figures, kind.field)
        if value is not None:
            document[kind.key] = figure_document(value)
    return document


def budget_document(figures: RunFigures) -> list[dict[str, Any]]:
    """Return the contributions behind the main figures, one row each."""
    return [
        {
            "figure": name,
            "contribution": line.name,
            "evaluation": line.evaluation.value,
            "standard_uncertainty": line.standard_uncertainty,
            "unit": line.unit,
            "sensitivity": line.sensitivity,
            "degrees_of_freedom": finite(line.degrees_of_freedom),
        }
        for name in BUDGET_FIELDS
        for line in getattr(figures, name).budget
    ]


class KnownTruth(Protocol):
    """What a simulated rig knows of itself, as far as it is shown."""

    @property
    def threshold_operate_mm(self) -> float | None: ...  # noqa: D102 - see the keys
    @property
    def threshold_release_mm(self) -> float | None: ...  # noqa: D102
    @property
    def observed_operate_mm(self) -> float | None: ...  # noqa: D102
    @property
    def observed_release_mm(self) -> float | None: ...  # noqa: D102


def truth_document(truth: KnownTruth) -> dict[str, float | None]:
    """Return what a simulated rig knows: noise-free thresholds, observed points."""
    return {
        "threshold_operate_mm": truth.threshold_operate_mm,
        "threshold_release_mm": truth.threshold_release_mm,
        "observed_operate_mm": truth.observed_operate_mm,
        "observed_release_mm": truth.observed_release_mm,
    }


def run_document(run: Run, figures: RunFigures | None) -> dict[str, Any]:
    """Return a run as `sweep --json` and `show --json` print it."""
    # Deferred: it needs numpy, and help must answer at once
    from rig.analysis.edges.sweep_points import points_of_run

    header = run.header
    document: dict[str, Any] = {
        "simulated": header.conditions.simulated,
        "run_id": header.run_id,
        "sensor": header.sensor.name,
        "part": header.part or None,
        "target": header.target.name,
        "started_at": header.started_at.isoformat(),
        "ended_at": run.ended_at.isoformat() if run.ended_at else None,
        "void": run.void or None,
        "sweeps": [
            {
                "operate_mm": operate_mm,
                "release_mm": release_mm,
                "speed_mm_s": sweep.speed_mm_s,
                "void": sweep.void or None,
            }
            for sweep, (operate_mm, release_mm) in zip(
                run.sweeps, points_of_run(run), strict=True
            )
        ],
    }
    if figures is not None:
        document |= figures_document(applicable(figures, header.timetable))
        document["budget"] = budget_document(figures)
        document["warnings"] = list(figures.warnings)
        document["analysis_version"] = figures.analysis_version
    else:
        document["budget"] = []
        document["warnings"] = ["No figures have been worked out for this run."]
    document["software_version"] = header.software_version
    return document
