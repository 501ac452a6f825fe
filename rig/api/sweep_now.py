"""One run now, as the command line and scripts have it: the order, and its result."""

from __future__ import annotations

from dataclasses import dataclass

from rig.api.mounting import mounted
from rig.catalogue.catalogue import Catalogue
from rig.inquiry.operators import chosen_operator
from rig.inquiry.products import product_in_force
from rig.inquiry.recorded_run import RecordedRun, recorded_run
from rig.model.sweep_numbers import (
    MOST_SWEEPS_UNTIL,
    USUAL_SPEEDS_MM_S,
    USUAL_SWEEPS,
)
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.events import Tell
from rig.procedures.motions_ahead import USUAL
from rig.procedures.particulars import check_temperature
from rig.procedures.planned_speeds import planned_speeds
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Store
from rig.records.product_book import ProductBook
from rig.wiring import Rig


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepWanted:
    """What somebody asks of one run.

    Attributes:
        sensor: Name of the sensor in the catalogue; None where the simulated rig has
            one mounted.
        target: Name of the target in the catalogue; None likewise.
        sweeps: Number of good sweeps wanted, with `until_mm` the most there may be;
            None for the usual number.
        speeds_mm_s: Speeds in turn; empty for those that need the least time, None for
            the usual ones, which with `until_mm` are those that need the least time.
        until_mm: Expanded uncertainty of the operate point that ends the run; None to
            take all sweeps.
        for_verdict: Whether the run ends as soon as its verdict is clear.
        part: Serial or sample number of the sensor; may be empty.
        product: Name of the product that the part should be; may be empty.
        operator: Name of whoever answers for the run; may be empty.
        note: Free text; may be empty.
        temperature_c: Ambient temperature; None if nobody gave it.
        supply_v: Voltage to set the sensor's supply to; None to leave it.
    """

    sensor: str | None = None
    target: str | None = None
    sweeps: int | None = None
    speeds_mm_s: tuple[float, ...] | None = None
    until_mm: float | None = None
    for_verdict: bool = False
    part: str = ""
    product: str = ""
    operator: str = ""
    note: str = ""
    temperature_c: float | None = None
    supply_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SweptRun:
    """A run that ended, as it is on record.

    Attributes:
        recorded: The run with its figures, points and verdicts.
        remarks: Why a goal was not reached, or that the run ended early, in whole
            sentences.
    """

    recorded: RecordedRun
    remarks: tuple[str, ...]


def order_now(
    rig: Rig, store: Store, catalogue: Catalogue, wanted: SweepWanted
) -> RunOrder:
    """Return the order of a run; on a simulated rig, mount what it is to measure.

    Raises:
        InputError: Something that is wanted is not usable, or not known.
        BenchError: The rig cannot set the supply as it is wanted.
        RecordsError: The records cannot be read.
    """
    if wanted.temperature_c is not None:
        check_temperature(wanted.temperature_c, "temperature")
    if wanted.supply_v is not None:
        rig.mover.check_supply_v(wanted.supply_v)
    named = wanted.product
    product = product_in_force(ProductBook(store), named) if named else None
    sensor, target = mounted(
        rig, catalogue, wanted.sensor, wanted.target, part=wanted.part
    )
    usual, usual_mm_s = (
        (USUAL_SWEEPS, USUAL_SPEEDS_MM_S)
        if wanted.until_mm is None
        else (MOST_SWEEPS_UNTIL, ())
    )
    speeds_mm_s = usual_mm_s if wanted.speeds_mm_s is None else wanted.speeds_mm_s
    return RunOrder(
        sensor=sensor,
        target=target,
        sweeps=usual if wanted.sweeps is None else wanted.sweeps,
        speeds_mm_s=speeds_mm_s or planned_speeds(rig.mover.traits, USUAL, sensor),
        until_mm=wanted.until_mm,
        for_verdict=wanted.for_verdict,
        operator=chosen_operator(store, wanted.operator),
        note=wanted.note,
        temperature_c=wanted.temperature_c,
        part=wanted.part,
        product=product,
        supply_v=wanted.supply_v,
    )


def sweep_now(rig: Rig, store: Store, order: RunOrder, tell: Tell) -> SweptRun:
    """Touch off, locate the switching band and sweep across it.

    However it ends, the attempt is on record with its outcome.

    Raises:
        BenchError: It cannot be touched off or measured, or steps were lost.
        Stopped: Somebody stopped it; what was measured is on record.
        RecordsError: The records cannot be written.
        LinkError: The rig failed.
    """
    context = RunContext.on(rig.mover, USUAL, store, tell)
    result = touch_off_and_run(order, context)
    found = recorded_run(store, result.run.header.run_id)
    return SweptRun(recorded=found, remarks=result.remarks)
