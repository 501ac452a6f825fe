"""What a person tells the records of a bench before the runs, each way as it is done.

The commands `bench set`, `calibrate add` and `calibrate measure` call what is called
here. Of the bench a person knows the papers, the lead of the screw, and what an
indicator or blocks show of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np

from rig.inquiry.axis_calibration import CalibrationOrder, add_calibration
from rig.inquiry.block_calibration import add_block_calibration
from rig.inquiry.declared_bench import declare_bench
from rig.model.settings import BenchSettings
from rig.procedures.block_touches import touch_blocks
from rig.procedures.events import Event
from rig.records import Store
from rig.records.calibrations import AxisReading
from rig.wiring import connect
from sim.population import draw_world
from tests.campaigns.axis_readings import INSTRUMENT_MM, read_indicator
from tests.campaigns.benches import ANOTHER_DAY, draw_benches
from tests.campaigns.declarations import from_papers
from tests.campaigns.gauge_blocks import BLOCK_MM, lengths_for
from tests.campaigns.knowledge import (
    BLOCKS,
    CLASSES_DECLARED,
    INDICATOR,
    NOTHING_DECLARED,
)


def _nothing(store: Store, number: int) -> None:
    """Tell nothing."""


def _classes(store: Store, number: int) -> None:
    declare_bench(
        store,
        _rig_id(number),
        from_papers(draw_world(number, number)),
        author="",
        now=datetime.now(UTC),
        whole=False,
    )


def _indicator_table(store: Store, number: int) -> None:
    rng = np.random.default_rng([number, 77])
    (indicated,) = read_indicator(draw_benches([number]).another_day(), rng)
    readings = [
        AxisReading(
            target_mm=float(place), direction=direction, deviation_mm=float(deviation)
        )
        for direction, every in (("up", indicated.up_mm), ("down", indicated.down_mm))
        for place, row in zip(indicated.places_mm, every, strict=True)
        for deviation in row
    ]
    order = _order(number, indicated.lead_mm, INSTRUMENT_MM)
    add_calibration(store, readings, order, datetime.now(UTC))


def _gauge_blocks(store: Store, number: int) -> None:
    lead_mm = draw_world(number, number).machine.screw_lead_mm
    rig = connect(f"sim://?bench={number}&seed={number + ANOTHER_DAY}", _SETTINGS)
    try:
        assert rig.simulation is not None
        found = touch_blocks(
            rig.mover,
            _SETTINGS,
            lengths_for(lead_mm),
            rig.simulation.put_block,
            _listen,
            now=lambda: datetime.now(UTC),
        )
    finally:
        rig.close()
    add_block_calibration(
        store,
        _order(number, lead_mm, BLOCK_MM),
        found.bench.axis,
        found.bench.datum,
        found.lengths_mm,
        found.contacts,
        closing_mm=found.closing_mm,
        now=datetime.now(UTC),
    )


def _order(number: int, lead_mm: float, instrument_mm: float) -> CalibrationOrder:
    today = datetime.now(UTC).date()
    return CalibrationOrder(
        rig_id=_rig_id(number),
        certificate="campaign",
        calibrated_on=today,
        due_on=today + timedelta(days=365),
        instrument_uncertainty_mm=instrument_mm,
        screw_lead_mm=lead_mm,
    )


def _rig_id(number: int) -> str:
    return f"sim-bench-{number}"


def _listen(event: Event) -> None:
    """Nobody looks on."""


_SETTINGS: Final = BenchSettings()
# State of knowledge: what is told, given the records and the number of the bench
TELL: Final[Mapping[str, Callable[[Store, int], None]]] = {
    NOTHING_DECLARED.name: _nothing,
    CLASSES_DECLARED.name: _classes,
    INDICATOR.name: _indicator_table,
    BLOCKS.name: _gauge_blocks,
}
