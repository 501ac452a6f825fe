"""One answer where theory says that a sensor operates, on every surface."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rig.catalogue.catalogue import load_catalogue
from rig.cli.main import run as gapsweep
from rig.errors import InputError
from rig.inquiry.lesson import Subject, read_materials, read_pair
from rig.inquiry.measured_run import MeasuredRun
from rig.inquiry.prediction import beside_theory, predict_runs
from rig.inquiry.theory import NoTheory, PredictionOptions, Theory, theory_for
from rig.inquiry.trimmer_setting import TURNED
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.carry_out_run import carry_out_run
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import Reader, Store, Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.product_book import ProductBook
from rig.sheets.prediction_sheet import prediction_lines, prediction_sheet, theory_row
from rig.wiring import connect

CATALOGUE = load_catalogue()
LEVEL, GATE = CATALOGUE.sensor("level-18"), CATALOGUE.sensor("gate-8")
# Of the size and rated distance that the trade sells; invented otherwise
LARGE = replace(LEVEL, name="level-30", size_mm=30.0, rated_distance_mm=15.0)
PVC, STEEL, COPPER = (CATALOGUE.target(name) for name in ("pvc", "steel", "copper"))
AT = datetime(2031, 3, 4, 9, 30, tzinfo=UTC)
Measure = Callable[[Sensor, Target], str]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(tmp_path / "records.sqlite") as store:
        yield store


@pytest.fixture
def measure(store: Store) -> Measure:
    """Measure a sensor against a target on a simulated rig; return the run."""
    chance = random.Random(7)
    clock = (AT + timedelta(minutes=n) for n in range(1000))

    def carry_out(sensor: Sensor, target: Target) -> str:
        settings = BenchSettings()
        rig = connect("sim://?seed=7&pace=fast", settings)
        rig.simulation.mount(sensor, target)
        context = RunContext(
            mover=rig.mover,
            settings=settings,
            reader=Reader(store),
            writer=Writer(store),
            attempts=AttemptBook(store),
            products=ProductBook(store),
            tell=lambda _: None,
            now=lambda: next(clock),
            chance=chance,
        )
        order = RunOrder(sensor=sensor, target=target, sweeps=5, speeds_mm_s=(1.0,))
        result = carry_out_run(context.touch_off(), order, context)
        rig.close()
        return result.run.header.run_id

    return carry_out


def test_command_line_and_lesson_say_the_same_of_one_run(
    store: Store, measure: Measure, capsys: pytest.CaptureFixture[str]
) -> None:
    run_id = measure(LARGE, PVC)

    status = gapsweep(["hand", "predict", run_id, "--records", store.where, "--json"])
    (said,) = json.loads(capsys.readouterr().out)["deviations"]
    gapsweep(["hand", "predict", run_id, "--records", store.where])
    text = capsys.readouterr().out
    subject = Subject(sensor=LARGE, target=PVC)
    (drawn,) = read_materials(store, subject).beside_theory.deviations
    shown = theory_row(read_pair(store, subject).theory)
    (line,) = prediction_lines(prediction_sheet(predict_runs(store, [run_id])))

    assert status == 0
    assert said["predicted_mm"] == drawn.predicted_mm
    assert tuple(said["predicted_range_mm"]) == drawn.predicted_range_mm
    assert said["normalised"] == drawn.normalised
    # Every number of the screen's line stands in the terminal's table
    (row,) = prediction_sheet(predict_runs(store, [run_id])).rows
    for words in (row.theory.interval, row.score, row.measured.value, row.verdict):
        assert words in text
        assert words in line
    assert shown.interval == row.theory.interval


@pytest.mark.parametrize("sensor", [LEVEL, LARGE])
def test_theory_for_the_plate_that_was_measured_agrees(
    store: Store, measure: Measure, sensor: Sensor
) -> None:
    run_id = measure(sensor, PVC)

    (one,) = predict_runs(store, [run_id]).deviations

    low, high = one.predicted_range_mm
    assert low < one.measured_mm < high
    assert one.agrees


def test_a_plate_is_not_held_against_the_curve_of_a_block() -> None:
    plate, block = (
        theory_for(LEVEL, replace(PVC, thickness_mm=t)) for t in (3.0, 60.0)
    )

    assert plate.predicted_range_mm[1] < block.predicted_range_mm[0]
    assert "3 mm thick" in theory_row(plate).sentence


def test_theory_spans_the_range_that_tables_give() -> None:
    theory = theory_for(LEVEL, PVC)

    low, high = theory.predicted_range_mm
    assert low < theory.predicted_mm < high
    assert "relative permittivity 3 to 3.5" in theory_row(theory).sentence


def test_a_given_property_takes_the_place_of_the_tables() -> None:
    given = theory_for(LEVEL, PVC, PredictionOptions(properties={"pvc": (2.0, 2.0)}))

    assert given.predicted_mm < theory_for(LEVEL, PVC).predicted_range_mm[0]
    assert theory_row(given).low == theory_row(given).high


@pytest.mark.parametrize(
    ("sensor", "target", "words"),
    [
        (LEVEL, STEEL, "earthed metal, on which the sensor is adjusted to s_n = 8 mm"),
        (LEVEL, replace(STEEL, earthed=False), "metal without earth"),
        (LEVEL, CATALOGUE.target("water"), "behind a wall"),
        (LEVEL, replace(PVC, thickness_mm=0.1), "plates of 0.188 mm and more"),
        (GATE, STEEL, "metals that are not magnetic"),
        (GATE, PVC, "no table gives the conductivity of pvc"),
        (replace(LEVEL, rated_distance_mm=40.0), PVC, "an s_n over the size of"),
    ],
)
def test_what_theory_does_not_hold_for_has_no_prediction(
    sensor: Sensor, target: Target, words: str
) -> None:
    found = theory_for(sensor, target)

    assert isinstance(found, NoTheory)
    assert words in found.reason
    assert words in theory_row(found).sentence


def test_a_turned_trimmer_is_not_comparable(store: Store, measure: Measure) -> None:
    run_id = measure(LEVEL, PVC)
    turned = _turned(read_materials(store, Subject(sensor=LEVEL, target=PVC)).runs[0])

    (one,) = beside_theory([turned]).not_comparable

    assert one.run_id == run_id
    assert "its trimmer was turned" in one.reason


def _turned(one: MeasuredRun) -> MeasuredRun:
    run = replace(one.run, header=replace(one.run.header, label=TURNED))
    return replace(one, run=run)


@pytest.mark.parametrize("span", [(0.0, 3.0), (1.0, 1e9)])
def test_a_given_range_outside_the_curve_is_refused(span: tuple[float, float]) -> None:
    with pytest.raises(InputError):
        theory_for(LEVEL, PVC, PredictionOptions(properties={"pvc": span}))


def test_a_property_of_no_run_is_refused(store: Store, measure: Measure) -> None:
    run_id = measure(LEVEL, PVC)

    with pytest.raises(InputError, match="no run is against 'pcv'"):
        predict_runs(store, [run_id], PredictionOptions(properties={"pcv": (3.0, 3.0)}))


def test_tables_of_a_property_lie_within_the_theory() -> None:
    for sensor in (LEVEL, GATE):
        for target in CATALOGUE.targets.values():
            found = theory_for(sensor, target)
            if isinstance(found, Theory):
                assert found.property_low <= found.property_high
                assert found.predicted_range_mm[0] > 0.0
            else:
                assert "outside" not in found.reason


def test_copper_agrees_with_theory_for_a_larger_sensor_too(
    store: Store, measure: Measure
) -> None:
    large = replace(GATE, name="gate-18", size_mm=18.0, rated_distance_mm=8.0)
    runs = [measure(sensor, COPPER) for sensor in (GATE, large)]

    found = predict_runs(store, runs).deviations

    assert [one.agrees for one in found] == [True, True]
    # Eddy currents do not scale with the sensor: the share of s_n falls
    small, big = (one.predicted_mm for one in found)
    assert big / 8.0 < 0.95 * small / 3.0
