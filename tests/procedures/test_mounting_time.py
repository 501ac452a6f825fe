"""The time left of a plan counts mounting by hand, as long as it took lately."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from firmware_protocol.messages import Ability
from rig.link.traits import RigTraits
from rig.model.settings import BenchSettings
from rig.procedures.estimate import Durations
from rig.procedures.plan_forecast import USUAL_MOUNTING_S, forecast_from_records
from rig.procedures.rounds import visits
from rig.records import ItemProgress, PlanItem, Reader, RunSummary
from rig.records.entries import RunFilter
from tests import builders
from tests.tui.conftest import NOW
from tests.tui.situations import TRAITS

REAL = replace(TRAITS, abilities=Ability.TOUCH_PROBE, rig_id="bench-2")
PAIRS = 3


class Runs(Reader):
    """Records that hold these runs and no conditions."""

    def __init__(self, *runs: RunSummary) -> None:
        self._runs = list(runs)

    def runs(self, only: RunFilter | None = None) -> list[RunSummary]:
        return [] if only is None or only.newest == 1 else self._runs


def _run(minutes: float, part: str) -> RunSummary:
    started_at = NOW + timedelta(minutes=minutes)
    return RunSummary(
        run_id=f"20310304-0930{minutes:02.0f}-000-aaaa",
        sensor="level-18",
        target="steel",
        material="steel",
        simulated=False,
        started_at=started_at,
        ended_at=started_at + timedelta(minutes=1),
        sweeps_wanted=10,
        good_sweeps=10,
        void_sweeps=0,
        void="",
        plan_id="p",
        plan_item=0,
        part=part,
    )


def _left_s(traits: RigTraits, *runs: RunSummary) -> float:
    items = [
        PlanItem(
            index=index,
            sensor=builders.sensor(),
            target=builders.target(),
            sweeps_wanted=10,
            speeds_mm_s=(1.0,),
        )
        for index in range(PAIRS)
    ]
    order = visits(items, interleaved=())
    progress = [ItemProgress(item=item, runs=()) for item in items]
    forecast = forecast_from_records(order, traits, BenchSettings(), Runs(*runs), NOW)
    return forecast.left_s(progress)


@pytest.fixture(autouse=True)
def _no_part_before(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rig.procedures.plan_forecast.last_part", lambda *_: None)


def test_a_pair_counts_the_usual_mounting_until_one_was_seen() -> None:
    assert not REAL.simulated
    assert TRAITS.simulated
    by_hand_s = _left_s(REAL) - _left_s(TRAITS)

    assert by_hand_s == pytest.approx(PAIRS * USUAL_MOUNTING_S)


def test_what_mounting_took_lately_counts_without_breaks_and_repeats() -> None:
    touch_off_s = Durations(traits=REAL, settings=BenchSettings()).touch_off_s()
    took_min = touch_off_s / 60 + 2
    at = [0.0]
    for between in (took_min, took_min + 1, took_min, took_min + 60, took_min + 0.2):
        at.append(at[-1] + 1 + between)
    parts = ["1", "2", "3", "4", "5", "5"]  # the last is the same pair once more
    runs = [_run(minutes, part) for minutes, part in zip(at, parts, strict=True)]

    by_hand_s = _left_s(REAL, *runs) - _left_s(TRAITS)

    assert by_hand_s == pytest.approx(PAIRS * 120.0)
