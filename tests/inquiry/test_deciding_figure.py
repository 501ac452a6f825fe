"""Which figure decided about a part of a lot, to be shown against its limits."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.inquiry.deciding_figure import deciding_figure_of_part
from rig.records import Store, open_records
from rig.records.lot_entries import LotPart
from tests.inquiry.test_lot_verdict import lot_terms

LIMITED = replace(lot_terms(), lower=7.2, upper=8.8)
PART = LotPart(
    part="S-1",
    decision="does not conform",
    reason="operate point: (8.991 ± 0.042) mm does not conform",
    value=8.991,
    expanded_uncertainty=0.042,
    unit="mm",
    run_id="",
    simulated=False,
    entered_at=datetime(2031, 3, 4, 9, 30, tzinfo=UTC),
)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return open_records(tmp_path / "records.sqlite")


def test_a_value_stands_against_the_limits_of_its_lot(store: Store) -> None:
    found = deciding_figure_of_part(store, LIMITED, PART)

    assert found is not None
    assert found.name == "operate"
    assert found.verdict.figure.value == 8.991
    assert (found.verdict.limits.lower, found.verdict.limits.upper) == (7.2, 8.8)
    assert found.verdict.decision == PART.decision


@pytest.mark.parametrize(
    ("terms", "part"),
    [
        (LIMITED, replace(PART, value=None, reason="bent bracket, by sight")),
        # On record it was decided otherwise, and that counts
        (LIMITED, replace(PART, decision="conforms")),
        # The standard decides, which takes a run
        (replace(lot_terms(), lower=None, upper=None), PART),
    ],
)
def test_there_is_none_without_a_value_or_where_it_decides_otherwise(
    store: Store, terms: object, part: LotPart
) -> None:
    assert deciding_figure_of_part(store, terms, part) is None
