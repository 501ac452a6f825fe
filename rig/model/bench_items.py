"""What can be declared of a bench: one row an item, with what is assumed without it.

Bounds are taken as such: the quantity lies within them, nobody knows where. What is
assumed is wide on purpose: a bench that is better than that says so and is believed.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class ItemForm(StrEnum):
    """What the number of an item says."""

    VALUE = "value"
    BOUND = "bound, either way"
    ONE_SIDED = "bound, one way"
    STANDARD = "standard uncertainty"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchItem:
    """One thing that can be declared.

    Attributes:
        key: Group and name with the unit, as typed and as kept.
        words: What it is.
        unit: Unit of the number.
        form: What the number says.
        assumed: Number that holds without a declaration, in `unit`.
        reason: Why that number.
        largest: Largest number that is taken, in `unit`.
        least: Smallest number that is taken.
        in_runs: Whether runs keep it as what their figures rest on.
        of_scale: Whether it is about a linear scale, so that only runs with one do.
    """

    key: str
    words: str
    unit: str
    form: ItemForm
    assumed: float
    reason: str
    largest: float
    least: float = 0.0
    in_runs: bool = True
    of_scale: bool = False

    @property
    def group(self) -> str:
        """Part of the bench that it belongs to."""
        return self.key.partition(".")[0]


SCREW_CLASS: Final = "screw.class"
"""Stands for the accuracy class of the screw where items are named; it has no unit."""

LEAD: Final = "screw.lead_mm"
PERIODIC: Final = "screw.periodic_um"
LINEAR: Final = "screw.linear_um_per_mm"
BACKLASH_CHANGE: Final = "screw.backlash_change_um"
SCALE_LOCAL: Final = "scale.local_um"
SCALE_LINEAR: Final = "scale.linear_um_per_mm"
PROBE_REPEATABILITY: Final = "probe.repeatability_um"
PROBE_OFFSET: Final = "probe.offset_um"
PROBE_PRETRAVEL: Final = "probe.pretravel_um"
PROBE_DELAY: Final = "probe.delay_ms"
PROBE_HYSTERESIS: Final = "probe.hysteresis_um"
COSINE: Final = "alignment.cosine_deg"
TILT: Final = "alignment.tilt_um"
PLATE_FLATNESS: Final = "plate.flatness_um"
FACE_FLATNESS: Final = "face.flatness_um"
FACE_NEAREST: Final = "face.nearest_mm"
EXPANSION: Final = "thermal.expansion_per_k"
SPAN: Final = "thermal.span_k"
THERMOMETER: Final = "thermometer.uncertainty_k"
SUPPLY: Final = "supply.voltage_v"
SUPPLY_TOLERANCE: Final = "supply.tolerance_percent"

BENCH_ITEMS: Final = (
    BenchItem(
        key=LEAD,
        words="lead of the screw, the period of its error",
        unit="mm",
        form=ItemForm.VALUE,
        assumed=0.0,
        reason="0 stands for unknown: errors of places far apart then never cancel",
        largest=100.0,
    ),
    BenchItem(
        key=PERIODIC,
        words="periodic error of the screw, amplitude",
        unit="µm",
        form=ItemForm.BOUND,
        assumed=10.0,
        reason="rolled screws: 2 to 10 µm (common practice, no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=LINEAR,
        words="linear (cumulative) error of the screw",
        unit="µm/mm",
        form=ItemForm.BOUND,
        assumed=0.7,
        reason="210 µm over 300 mm, the loosest class of ISO 3408-3 (from memory)",
        largest=50.0,
    ),
    BenchItem(
        key=BACKLASH_CHANGE,
        words="change of the backlash from the touch to the sweeps",
        unit="µm",
        form=ItemForm.BOUND,
        assumed=2.0,
        reason="a per cent a mm of an ordinary 30 µm, over 8 mm (no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=SCALE_LOCAL,
        words="error of the linear scale at a place: division, reading, carrier's tilt",
        unit="µm",
        form=ItemForm.BOUND,
        assumed=5.0,
        reason="magnetic tape and a carrier that tilts a little (no source)",
        largest=1000.0,
        of_scale=True,
    ),
    BenchItem(
        key=SCALE_LINEAR,
        words="linear error of the linear scale",
        unit="µm/mm",
        form=ItemForm.BOUND,
        assumed=0.1,
        reason="a tape that was glued on: 100 µm over a metre (no source)",
        largest=50.0,
        of_scale=True,
    ),
    BenchItem(
        key=PROBE_REPEATABILITY,
        words="repeatability of the touch probe from one touch-off to the next",
        unit="µm",
        form=ItemForm.STANDARD,
        assumed=2.0,
        reason="dirt and seating that touches in a row do not show (no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=PROBE_OFFSET,
        words="offset of the touch probe: where it closes minus where the faces meet",
        unit="µm",
        form=ItemForm.BOUND,
        assumed=8.0,
        reason="about 5 µm rms; it is in every datum of the rig (no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=PROBE_PRETRAVEL,
        words="pre-travel of the touch probe, left after its correction",
        unit="µm",
        form=ItemForm.ONE_SIDED,
        assumed=1.5,
        reason="a switch, not bare contacts, may be fitted (no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=PROBE_DELAY,
        words="delay or debounce of the touch probe",
        unit="ms",
        form=ItemForm.ONE_SIDED,
        assumed=10.0,
        reason="debounce, 5 to 10 ms (no source); counts where touches show no delay",
        largest=1000.0,
    ),
    BenchItem(
        key=PROBE_HYSTERESIS,
        words="hysteresis of the touch probe",
        unit="µm",
        form=ItemForm.ONE_SIDED,
        assumed=3.0,
        reason="bare contacts have none, a switch has some micrometres (no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=COSINE,
        words="angle between the axis and the normal of the face",
        unit="°",
        form=ItemForm.BOUND,
        assumed=1.0,
        reason="mounted by eye against a square (common practice, no source)",
        largest=10.0,
    ),
    BenchItem(
        key=TILT,
        words="plate out of parallel with the face, over the active face",
        unit="µm",
        form=ItemForm.ONE_SIDED,
        assumed=3.0,
        reason="the faces meet at one edge first (common practice, no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=PLATE_FLATNESS,
        words="flatness of the plate",
        unit="µm",
        form=ItemForm.ONE_SIDED,
        assumed=2.0,
        reason="ground plate of that size (common practice, no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=FACE_FLATNESS,
        words="flatness of the sensor's face",
        unit="µm",
        form=ItemForm.ONE_SIDED,
        assumed=2.0,
        reason="moulded face of that size (common practice, no source)",
        largest=1000.0,
    ),
    BenchItem(
        key=FACE_NEAREST,
        words="place nearest to home where the face may be",
        unit="mm",
        form=ItemForm.VALUE,
        assumed=0.0,
        reason="0 stands for unknown: any first contact is taken for the face",
        largest=10_000.0,
        in_runs=False,
    ),
    BenchItem(
        key=EXPANSION,
        words="expansion of screw and frame",
        unit="µm/(m K)",
        form=ItemForm.VALUE,
        assumed=23.0,
        reason="aluminium; steel has 11.5",
        largest=200.0,
    ),
    BenchItem(
        key=SPAN,
        words="temperature of the bench off 20 °C",
        unit="K",
        form=ItemForm.BOUND,
        assumed=10.0,
        reason="an ordinary room, 10 to 30 °C",
        largest=100.0,
    ),
    BenchItem(
        key=THERMOMETER,
        words="thermometer",
        unit="K",
        form=ItemForm.STANDARD,
        assumed=1.0,
        reason="an ordinary room thermometer (common practice, no source)",
        largest=20.0,
    ),
    BenchItem(
        key=SUPPLY,
        words="supply voltage of the sensor",
        unit="V",
        form=ItemForm.VALUE,
        assumed=24.0,
        reason="the usual supply; for the record, no figure depends on it",
        largest=300.0,
    ),
    BenchItem(
        key=SUPPLY_TOLERANCE,
        words="tolerance of the supply voltage",
        unit="%",
        form=ItemForm.BOUND,
        assumed=5.0,
        reason="an ordinary supply unit; for the record, no figure depends on it",
        largest=100.0,
    ),
)
ITEM_OF_KEY: Final = {item.key: item for item in BENCH_ITEMS}

# Causes that no line of a budget holds; said wherever a budget is shown
NOT_INCLUDED: Final = (
    "movement of the frame between touch-off and sweeps",
    "steps lost after the touch-off and lost again the other way before the end",
    "temperature and supply of the sensor itself",
    "errors of the screw with a period other than its lead",
    "a wrong number of steps per mm beyond the linear error of the screw",
    "lag of the motor within a step, and side play of the nut",
    "a delay of the touch probe that differs between closing and opening",
    "size, earth and material of the target that differ from what is on record",
)
