"""Documents of the studies of a gauge beside the crossed one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rig.analysis.study.agreement import Agreement
from rig.analysis.study.component_study import ComponentStudy
from rig.analysis.study.linearity import Linearity
from rig.analysis.study.single_gauge import SingleGauge
from rig.analysis.study.stability import Stability
from rig.analysis.study.tolerance_share import ToleranceShare
from rig.inquiry.gauge_study import (
    AgreementResult,
    ComponentsResult,
    GaugeResult,
    LinearityResult,
    SingleGaugeResult,
    StabilityResult,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeHead:
    """What every document of a study of a gauge says of its readings.

    Attributes:
        simulated: Whether a simulated rig made any reading.
        title: Where the readings come from.
        figure: Option name of the figure, "reading" or "rating".
        unit: Unit of the readings; "1" for ratings.
        readings: Number of readings.
        run_ids: The runs behind them; empty for others.
        altered_runs: Runs that are not as they were written.
        left_out: What was left out.
    """

    simulated: bool
    title: str
    figure: str
    unit: str
    readings: int
    run_ids: tuple[str, ...]
    altered_runs: tuple[str, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentsDocument(GaugeHead):
    """A nested or unbalanced study as it is printed.

    Attributes:
        study: Figures.
        tolerance: Share of the tolerance; None if nobody gave one.
    """

    study: ComponentStudy
    tolerance: ToleranceShare | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AgreementDocument(GaugeHead):
    """An attribute agreement study as it is printed.

    Attributes:
        study: Figures.
    """

    study: Agreement


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityDocument(GaugeHead):
    """A linearity study as it is printed.

    Attributes:
        study: Figures.
    """

    study: Linearity


@dataclass(frozen=True, slots=True, kw_only=True)
class StabilityDocument(GaugeHead):
    """A stability study as it is printed.

    Attributes:
        study: Figures.
    """

    study: Stability


@dataclass(frozen=True, slots=True, kw_only=True)
class SingleGaugeDocument(GaugeHead):
    """A single-gauge study as it is printed.

    Attributes:
        study: Figures.
    """

    study: SingleGauge


def gauge_document(result: GaugeResult) -> tuple[str, GaugeHead]:
    """Return the name of a result's document, and the result as it is printed."""
    head = _head(result)
    match result:
        case ComponentsResult():
            found = ComponentsDocument(
                **head, study=result.study, tolerance=result.tolerance
            )
            return "study-components", found
        case AgreementResult():
            return "study-agreement", AgreementDocument(**head, study=result.study)
        case LinearityResult():
            return "study-linearity", LinearityDocument(**head, study=result.study)
        case StabilityResult():
            return "study-stability", StabilityDocument(**head, study=result.study)
        case SingleGaugeResult():
            return "study-single", SingleGaugeDocument(**head, study=result.study)


def _head(result: GaugeResult) -> dict[str, Any]:
    source = result.source
    return {
        "simulated": bool(source.simulated),
        "title": source.title,
        "figure": source.figure,
        "unit": source.unit,
        "readings": len(source.readings),
        "run_ids": tuple(one.run.header.run_id for one in source.runs),
        "altered_runs": tuple(
            one.check.run_id for one in source.runs if one.check.intact is False
        ),
        "left_out": source.statements,
    }
