"""What a run is to measure: as it is asked for, or as the records have it."""

from __future__ import annotations

from dataclasses import dataclass

from rig.analysis.standard.product_match import sensor_differences
from rig.errors import InputError
from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion
from rig.model.sweep_numbers import check_speeds, check_sweeps
from rig.model.sweeps import RunHeader, Timetable
from rig.procedures.timetable import check_timetable
from rig.records.entries import PlanEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOrder:
    """What to measure.

    Attributes:
        sensor: The sensor that is mounted.
        target: The target that is mounted.
        sweeps: Number of good sweeps wanted; with `until_mm` the most there may be.
        speeds_mm_s: Speeds that the sweeps go through in turn.
        until_mm: Expanded uncertainty of the operate point that ends the run; None
            to take all sweeps.
        for_verdict: Whether the run ends as soon as its verdict is clear.
        plan_id: The plan that it belongs to; empty for none.
        plan_item: Index in the plan; -1 for none.
        operator: Who answers for it; may be empty.
        note: Free text; may be empty.
        temperature_c: Ambient temperature, if known.
        part: Serial or sample number of the sensor; empty if nobody gave it.
        timetable: When the sweeps are due, shared out evenly; None for one after
            another.
        label: Name of the setting that the run belongs to; empty for none.
        product: Product that the part should be; None if nobody named one.
        supply_v: Voltage to set the sensor's supply to; None to leave it.

    Raises:
        InputError: The number of sweeps, a speed or the uncertainty is not usable, or
            the sensor is not what the product asks for.
    """

    sensor: Sensor
    target: Target
    sweeps: int
    speeds_mm_s: tuple[float, ...]
    until_mm: float | None = None
    for_verdict: bool = False
    plan_id: str = ""
    plan_item: int = -1
    operator: str = ""
    note: str = ""
    temperature_c: float | None = None
    part: str = ""
    timetable: Timetable | None = None
    label: str = ""
    product: ProductVersion | None = None
    supply_v: float | None = None

    def __post_init__(self) -> None:
        check_sweeps(self.sweeps)
        if self.until_mm is not None and not 0.0 < self.until_mm <= 1.0:
            raise InputError(
                f"until is {self.until_mm:g} mm: give an uncertainty above 0 and up "
                f"to 1 mm"
            )
        if self.for_verdict and (self.until_mm or self.timetable):
            raise InputError(
                "a run ends by its verdict, by until or by its timetable: give one"
            )
        if self.timetable is not None:
            check_timetable(self.timetable, self.sweeps)
            if self.until_mm is not None:
                raise InputError("a run ends by its timetable or by until, not by both")
        check_speeds(self.speeds_mm_s)
        if self.product is not None:
            check_sensor(self.sensor, self.product)


def check_sensor(sensor: Sensor, product: ProductVersion) -> None:
    """Refuse a sensor that is not what a product asks for.

    Raises:
        InputError: It is another.
    """
    other = sensor_differences(product.specification.sensor, sensor)
    if other:
        raise InputError(
            f"{sensor.name} is not {product.title}: {'; '.join(other)}",
            hint="mount what the product asks for, or name its own product",
        )


def order_on_record(header: RunHeader) -> RunOrder:
    """Return the order of a run on record, for the run to be resumed.

    The ambient temperature is that of the day, so it is left out.
    """
    return RunOrder(
        sensor=header.sensor,
        target=header.target,
        sweeps=header.sweeps_wanted,
        speeds_mm_s=header.speeds_mm_s,
        until_mm=header.until_mm,
        plan_id=header.plan_id,
        plan_item=header.plan_item,
        operator=header.conditions.operator,
        note=header.conditions.note,
        part=header.part,
        timetable=header.timetable,
        label=header.label,
        product=header.product,
        for_verdict=header.for_verdict,
        supply_v=header.conditions.set_supply_v,
    )


def order_of_item(entry: PlanEntry, index: int) -> RunOrder:
    """Return what a plan on record asks of one of its items."""
    item = entry.items[index]
    return RunOrder(
        sensor=item.sensor,
        target=item.target,
        sweeps=item.sweeps_wanted,
        speeds_mm_s=item.speeds_mm_s,
        plan_id=entry.plan_id,
        plan_item=item.index,
        part=item.part,
        timetable=item.timetable,
        for_verdict=entry.for_verdict,
    )
