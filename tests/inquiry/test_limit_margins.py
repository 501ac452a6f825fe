"""The margin of every run to the nearer limit, and lists that are sorted by it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from rig.inquiry.effective_range import effective_range
from rig.inquiry.limit_margins import limit_margins
from rig.model.product import Bounds, ProductVersion
from rig.model.sweeps import RunHeader
from rig.records import Reader, Store, Writer, open_records
from rig.records.run_index import RunsBy, RunsWanted
from rig.tui.technician.run_lines import read_lines
from tests import builders
from tests.builders import NOON, figure
from tests.products import specification
from tests.tui.situations import CATALOGUE, HEADER


def _product(supply_v: Bounds | None) -> ProductVersion:
    made = specification(sensor=HEADER.sensor, target=HEADER.target, supply_v=supply_v)
    return ProductVersion(
        version=1, specification=made, entered_by="Kim", entered_at=NOON
    )


_COOL = {"conditions": {"temperature_c": 23.0}}
_WARM = {"conditions": {"measured_temperature_c": 40.0}}
_PVC = {"target": CATALOGUE.target("pvc")}
_SUPPLIED = Bounds(lower=10.0, upper=30.0)
# Operate point, mm, with what else there is of the run; s_n is 8 mm
_RUNS: dict[str, tuple[float | None, dict[str, Any]]] = {
    "middle": (8.0, {}),
    "near the upper": (8.7, {}),
    "below the lower": (7.1, {}),
    "on the lower": (7.2, {}),
    "too warm": (8.0, _WARM),
    "at 23": (7.6, _COOL),
    "another target": (8.0, _PVC),
    "no figures": (None, {}),
    "of a product": (8.5, {"product": _product(None), **_COOL}),
    "product, no supply known": (8.0, {"product": _product(_SUPPLIED), **_COOL}),
    "resumed where it was warm": (8.0, {}),
    "void": (8.0, {}),
}


def _header(number: int, changes: dict[str, Any]) -> RunHeader:
    made = builders.changed(HEADER, **changes)
    started_at = NOON + timedelta(minutes=number)
    return builders.changed(made, run_id=f"run-{number:02}", started_at=started_at)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    path: Path = tmp_path_factory.mktemp("margins") / "records.sqlite"
    with open_records(path) as store:
        writer = Writer(store)
        for number, (name, (operate_mm, changes)) in enumerate(_RUNS.items()):
            header = _header(number, changes)
            writer.begin_run(header)
            if name.startswith("resumed"):
                warm = builders.changed(header.conditions, temperature_c=40.0)
                writer.add_conditions(header.run_id, 1, warm)
            void = "steps were lost" if name == "void" else ""
            writer.end_run(header.run_id, ended_at=NOON, home_shift_steps=0, void=void)
            if operate_mm is not None:
                made = builders.run_figures(operate=figure(operate_mm, 0.02))
                writer.add_figures(header.run_id, made, computed_at=NOON)
        yield store


def _name(run_id: str) -> str:
    return list(_RUNS)[int(run_id.removeprefix("run-"))]


def test_the_margin_is_a_share_of_the_tolerance(store: Store) -> None:
    found = {_name(run_id): one for run_id, one in limit_margins(store).items()}

    # 0.9 s_n to 1.1 s_n (IEC 60947-5-2, 7.2.1.3.1, from memory): 7.2 to 8.8 mm
    assert found == pytest.approx(
        {
            "middle": 0.5,
            "near the upper": 0.1 / 1.6,
            "below the lower": -0.1 / 1.6,
            "on the lower": 0.0,
            "at 23": 0.25,
            "of a product": 0.3 / 1.6,
        },
        abs=1e-9,
    )


def test_runs_have_a_margin_where_they_have_a_verdict_on_it(store: Store) -> None:
    reader = Reader(store)
    ids = [run.run_id for run in reader.runs() if not run.void]
    computed, headers = reader.latest_computations(ids), reader.headers(ids)
    later = reader.later_conditions(ids)
    with_limits = {
        run_id
        for run_id, one in computed.items()
        if effective_range(headers[run_id], one.figures, later.get(run_id, ()))
    }

    assert set(limit_margins(store)) == with_limits


def test_a_list_begins_with_those_nearest_to_a_limit(store: Store) -> None:
    wanted = RunsWanted(by=RunsBy.MARGIN, falling=False, limit=4)

    page = read_lines(store, wanted)

    assert [_name(line.run.run_id) for line in page.lines] == [
        "below the lower",
        "on the lower",
        "near the upper",
        "of a product",
    ]
    assert page.matching == page.on_record == len(_RUNS)


def test_runs_without_limits_come_last_either_way(store: Store) -> None:
    for falling in (False, True):
        page = read_lines(store, RunsWanted(by=RunsBy.MARGIN, falling=falling))

        limits = [line.limits is not None for line in page.lines]
        assert limits == sorted(limits, reverse=True)
        assert 0 < sum(limits) < len(limits)
