"""Made-up runs for the tests of the records; every figure in them is invented."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.bench_declaration import ValueSource
from rig.model.figures import Contribution, Evaluation, Figure, RunFigures
from rig.model.mounted import BacklashSource, OutputKind, Target
from rig.model.sweeps import Conditions, RunHeader, Sweep
from rig.model.switch_on import SwitchOn
from rig.records import PlanEntry, PlanItem, make_run_id
from rig.records.availability_book import AvailabilityEntry
from rig.records.place_checks import HeldAgainst, PlaceCheckEntry, PlaceReading
from tests import builders

NOON = datetime(2026, 11, 25, 12, 0, 0, 123456, tzinfo=UTC)
LEVEL_SENSOR = builders.sensor(
    name="level 18 mm no. 4",
    output=OutputKind.NORMALLY_CLOSED,
    switching_frequency_hz=None,
)
STEEL = builders.target(thickness_mm=3.0)
WHEAT = Target(
    name="cell of wheat",
    material="wheat",
    thickness_mm=60.0,
    wall_material="PVC",
    wall_mm=2.0,
)


def conditions(*, simulated: bool = True, note: str = "") -> Conditions:
    return builders.conditions(
        simulated=simulated,
        rig_id="bench-2",
        firmware_version="1.4.2",
        boot_number=4_294_967_295,
        axis={"standard_uncertainty_mm": 0.1 + 0.2},
        datum={
            "position_steps": 32_000.25,
            "standard_uncertainty_mm": 0.0011,
            "found_at": NOON - timedelta(minutes=5),
        },
        backlash={
            "standard_uncertainty_mm": 0.003,
            "degrees_of_freedom": math.inf,
            "n": 0,
            "source": BacklashSource.INDICATOR,
        },
        temperature_c=21.5,
        operator="incoming inspection",
        note=note,
    )


def header(number: int = 0, **changes: object) -> RunHeader:
    """Return the header of the run that began `number` seconds after noon."""
    started_at = NOON + timedelta(seconds=number)
    given: dict[str, object] = {
        "run_id": make_run_id(started_at, random.Random(number)),
        "sensor": LEVEL_SENSOR,
        "target": STEEL,
        "speeds_mm_s": (0.8, 1.6),
        "conditions": conditions(),
        "started_at": started_at,
    }
    return builders.header(**(given | changes))


def sweep(index: int, *, edges: int = 2, void: str = "") -> Sweep:
    """Return a sweep whose edges follow from its index alone."""
    every = [
        builders.edge(
            -2_147_483_648 + 1000 * index + k,
            level=k % 2 == 0,
            approaching=k < edges / 2,
            number=(65_530 + 2 * index + k) % 65_536,
            time_us=(4_294_967_290 + 1000 * index + k) % 2**32,
        )
        for k in range(edges)
    ]
    return builders.sweep(
        index,
        every,
        speed_mm_s=(0.8, 1.6)[index % 2],
        void=void,
        ended_at=NOON + timedelta(seconds=1, microseconds=index),
    )


def place_check(run_ids: Sequence[str] = (), **changes: object) -> PlaceCheckEntry:
    given = PlaceCheckEntry(
        check_id="20261125-130000-000-00cc",
        rig_id="bench-2",
        simulated=False,
        sensor="level-18",
        target="steel",
        lead_mm=2.0,
        readings=tuple(
            PlaceReading(
                run_id=run_id,
                closing_mm=30.0 - 0.25 * index,
                opening_mm=29.96 - 0.25 * index,
                operate_mm=8.001 + 0.1 / 3.0,
                release_mm=9.5,
                operate_variance_mm2=1e-7,
                covariance_mm2=2.5e-8,
                release_variance_mm2=1.5e-7,
                time_s=240.5 * index,
                operate_correction_mm=None if index else 0.002,
                release_correction_mm=None if index else -0.001,
            )
            for index, run_id in enumerate(run_ids)
        ),
        degrees_of_freedom=40.0,
        held_against=HeldAgainst(
            bound_um=10.0,
            bound_source=ValueSource.ASSUMED,
            certificate="",
            calibration_uncertainty_mm=0.0,
            lowest_mm=13.7,
            highest_mm=39.5,
        ),
        entered_at=NOON,
    )
    return replace(given, **changes)


def figure(value: float, unit: str = "mm") -> Figure:
    return builders.figure(
        value,
        0.0123,
        unit,
        coverage_factor=2.262,
        effective_degrees_of_freedom=math.inf,
        standard_deviation=0.0045,
        budget=(
            Contribution(
                name="datum",
                evaluation=Evaluation.TYPE_A,
                standard_uncertainty=0.0011,
                unit="mm",
                sensitivity=-1.0,
                degrees_of_freedom=9.0,
            ),
            Contribution(
                name="axis",
                evaluation=Evaluation.TYPE_B,
                standard_uncertainty=1e-17,
                unit="mm",
            ),
        ),
    )


def figures(operate_mm: float = 7.9, *, analysis_version: str = "1") -> RunFigures:
    return builders.run_figures(
        operate=figure(operate_mm),
        release=figure(operate_mm + 1.1),
        differential_travel=figure(1.1),
        differential_travel_percent=figure(13.9, "%"),
        first_passage_bias_operate=figure(0.001),
        first_passage_bias_release=figure(0.001),
        threshold_operate=figure(operate_mm - 0.001),
        threshold_release=figure(operate_mm + 1.101),
        response_time_operate=figure(1.5, "ms"),
        response_time_release=None,
        repeat_accuracy_short_term=builders.figure(
            0.02,
            None,
            standard_deviation=None,
            why_none="a range of ten readings, stated as it is",
        ),
        warnings=("only two speeds were used", "the temperature was not steady"),
        analysis_version=analysis_version,
    )


def plan(plan_id: str = "20261125-120000-000-00aa") -> PlanEntry:
    return PlanEntry(
        plan_id=plan_id,
        title="spring delivery",
        toml_text='title = "spring delivery"\n# as it was read, umlauts too: ä\n',
        created_at=NOON,
        simulated=True,
        items=tuple(
            PlanItem(
                index=index,
                sensor=LEVEL_SENSOR,
                target=target,
                sweeps_wanted=3,
                speeds_mm_s=(0.8, 1.6),
            )
            for index, target in enumerate((STEEL, WHEAT))
        ),
    )


ATTEMPT_END = AttemptEnd(
    outcome=Outcome.CHATTER,
    sentence="3 sweeps in a row are void: über den Rand",
    causes="check target, sensor and cable",
    ended_at=NOON + timedelta(minutes=3),
)


def attempt(number: int = 0, index: int = 0, **changes: object) -> Attempt:
    """Return an attempt that began `number` seconds after noon and has no end."""
    started_at = NOON + timedelta(seconds=number, minutes=index)
    given: dict[str, object] = {
        "run_id": make_run_id(NOON + timedelta(seconds=number), random.Random(number)),
        "index": index,
        "sensor": LEVEL_SENSOR,
        "target": WHEAT,
        "sweeps_wanted": 6,
        "simulated": True,
        "rig_id": "bench-2",
        "started_at": started_at,
        "part": "S-1",
        "operator": "incoming inspection",
        "note": "lot 20261125-120000-000-00aa",
    }
    return Attempt(**(given | changes))


def availability(**changes: object) -> AvailabilityEntry:
    """Return the switchings of a sensor, which was available after 40 ms."""
    given: dict[str, object] = {
        "check_id": "20261125-130000-000-00cd",
        "rig_id": "bench-2",
        "simulated": True,
        "sensor": builders.sensor(time_delay_before_availability_ms=50.0),
        "target": STEEL,
        "part": "P-7",
        "operator": "A. Novak",
        "temperature_c": 21.375,
        "switchings": (
            SwitchOn(before_target=False, switched_us=4_294_967_000, edges=()),
            SwitchOn(before_target=True, switched_us=10, edges=((True, 40_010),)),
        ),
        "off_s": 0.5,
        "entered_at": NOON + timedelta(hours=1),
    }
    return AvailabilityEntry(**(given | changes))
