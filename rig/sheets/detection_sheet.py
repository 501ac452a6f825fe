"""Which sensor detects which target in rows and words, once for all surfaces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from rig.inquiry.detection import Detection, DetectionCell, DetectionTable
from rig.inquiry.tried import NOT_DETECTED
from rig.model.rounding import format_figure
from rig.sheets.run_list_sheet import DASH

_SIGNS: Final[Mapping[Detection, str]] = {
    Detection.DETECTS: "✓",
    Detection.DOES_NOT_DETECT: "✗",
    Detection.PARTS_DIFFER: "≠",
    Detection.NO_RESULT: "?",
}
LEGEND = (
    "✓ detects, with the operate point, mm; ✗ does not detect; ≠ parts differ; ? no"
    f" result; {DASH} not tried. The newest outcome of each part counts."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionRow:
    """One target against every sensor; all text.

    Attributes:
        target: Name of the target.
        cells: What each sensor makes of it, in the order of the heads.
    """

    target: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectionSheet:
    """Targets in rows, sensors in columns.

    Attributes:
        simulated: Whether a simulated rig made any of it.
        heads: Names of the sensors.
        rows: Every target.
        legend: What the signs mean, in one sentence.
    """

    simulated: bool
    heads: tuple[str, ...]
    rows: tuple[DetectionRow, ...]
    legend: str


def detection_sheet(found: DetectionTable) -> DetectionSheet:
    """Lay out which sensor detects which target."""
    cells = {(one.sensor, one.target): _words(one) for one in found.cells}
    return DetectionSheet(
        simulated=found.simulated,
        heads=found.sensors,
        rows=tuple(
            DetectionRow(
                target=target,
                cells=tuple(
                    cells.get((sensor, target), DASH) for sensor in found.sensors
                ),
            )
            for target in found.targets
        ),
        legend=LEGEND,
    )


def _words(one: DetectionCell) -> str:
    figure = one.operate_mm
    operate = "" if figure is None else f" {format_figure(figure).cell}"
    match one.detection:
        case Detection.DETECTS:
            words = f"detects{operate}"
        case Detection.DOES_NOT_DETECT:
            # On its standard target a sensor that never switches is at fault
            why = "" if one.outcome == NOT_DETECTED else f" ({one.outcome})"
            words = f"does not detect{why}"
        case Detection.PARTS_DIFFER:
            words = f"{one.detected} of {one.tried} parts detect{operate}"
        case Detection.NO_RESULT:
            words = f"no result: {one.outcome}"
    return f"{_SIGNS[one.detection]} {words}"
