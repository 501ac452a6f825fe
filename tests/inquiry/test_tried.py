"""What came of everything that was tried, in records from before that was kept too."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from rig.analysis.limits.verdict import Decision
from rig.inquiry.batch import BatchOptions, batch_on_record
from rig.inquiry.parts import RunSelection
from rig.inquiry.plan import plan_result
from rig.inquiry.run_list import run_list
from rig.inquiry.tried import (
    decision_of_outcome,
    ending_of_run,
    outcome_words,
    tried_on_record,
)
from rig.model.attempts import Outcome
from rig.records import Reader, RunFilter, Store, open_records
from tests import builders

KEPT = Path(__file__).parents[1] / "records" / "kept" / "schema_7.sqlite"
PVC = builders.target(name="pvc", material="pvc")


@pytest.fixture(params=[True, False], ids=["read only", "upgraded"])
def earlier(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    path = tmp_path / "records.sqlite"
    shutil.copy(KEPT, path)
    with open_records(path, read_only=request.param) as store:
        yield store


def test_runs_from_before_outcomes_were_kept_are_named_by_what_is_known(
    earlier: Store,
) -> None:
    found = tried_on_record(earlier, RunFilter())

    assert [one.outcome for one in found] == [
        *(Outcome.FIGURES, Outcome.FIGURES, Outcome.FIGURES),
        *(Outcome.INTERRUPTED, Outcome.STEPS_LOST, Outcome.INTERRUPTED),
        *(Outcome.FIGURES, Outcome.INTERRUPTED),
        *[Outcome.FIGURES] * 6,  # of a check of the screw, and after it
    ]
    assert [one.part for one in found][:6] == ["K-1", "K-2", "K-3", "K-4", "K-5", "K-6"]
    assert [row.outcome for row in run_list(earlier, RunFilter()).runs] == [
        one.outcome for one in found
    ]


def test_a_batch_of_earlier_records_accounts_for_every_part(earlier: Store) -> None:
    selection = RunSelection(sensor="level-18")

    (batch,) = batch_on_record(earlier, selection, BatchOptions()).batches

    assert [part.part for part in batch.parts] == ["K-1", "K-2", "K-3"]
    assert [(one.part, one.result, one.decision) for one in batch.without] == [
        ("K-4", "interrupted", None),
        ("K-5", "steps lost", None),
        ("K-6", "interrupted", None),
    ]


def test_a_pair_of_an_earlier_plan_is_due_again(earlier: Store) -> None:
    (plan,) = Reader(earlier).plans()

    items = plan_result(earlier, plan.plan_id).items

    assert [one.result for one in items] == ["figures", "interrupted"]
    assert [one.progress.settled for one in items] == [True, False]


def test_the_newest_of_all_that_was_tried_are_listed(earlier: Store) -> None:
    every = tried_on_record(earlier, RunFilter())

    assert tried_on_record(earlier, RunFilter(newest=3)) == every[-3:]


def test_attempts_without_any_figures_are_listed_all_the_same(earlier: Store) -> None:
    runs = [one.run_id for one in tried_on_record(earlier, RunFilter(part="K-4"))]

    selection = RunSelection(run_ids=tuple(runs))
    (batch,) = batch_on_record(earlier, selection, BatchOptions()).batches

    assert batch.parts == ()
    assert [(one.part, one.result) for one in batch.without] == [("K-4", "interrupted")]


@pytest.mark.parametrize("outcome", list(Outcome))
def test_only_a_sensor_that_failed_on_the_standard_target_does_not_conform(
    outcome: Outcome,
) -> None:
    sensor = builders.sensor()
    steel = builders.target()
    fails = outcome in {
        *(Outcome.NEVER_SWITCHES, Outcome.ALWAYS_ON),
        *(Outcome.NEVER_RELEASES, Outcome.CHATTER),
    }

    on_steel = decision_of_outcome(outcome, sensor, steel)

    assert on_steel is (Decision.DOES_NOT_CONFORM if fails else None)
    assert decision_of_outcome(outcome, sensor, PVC) is None


def test_a_target_that_is_not_seen_is_not_detected_and_the_standard_one_is() -> None:
    sensor = builders.sensor()
    steel = builders.target()

    assert outcome_words(Outcome.NEVER_SWITCHES, sensor, PVC) == "not detected"
    assert outcome_words(Outcome.NEVER_SWITCHES, sensor, steel) == "never switches"
    assert outcome_words(Outcome.CHATTER, sensor, PVC) == "chatter"


def test_a_run_that_ended_well_has_figures_whatever_its_attempt_lacks() -> None:
    ended = ending_of_run(builders.NOON, "", None)

    assert ended.outcome is Outcome.FIGURES
