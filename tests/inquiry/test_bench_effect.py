"""How much of the ± rests on what is assumed, from budgets written by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rig.inquiry.bench_effect import effects_by_rig
from rig.inquiry.declared_bench import benches_on_record
from rig.model.figures import Contribution, Evaluation, Figure
from rig.records import Reader, Store, Writer, open_records
from rig.sheets.bench_sheet import bench_sheet
from tests import builders


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_records(str(tmp_path / "records.sqlite")) as opened:
        yield opened


def line(name: str, um: float, sensitivity: float = 1.0) -> Contribution:
    return Contribution(
        name=name,
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=1e-3 * um,
        unit="mm",
        sensitivity=sensitivity,
    )


def put(store: Store, run_id: str, rig_id: str, *lines: Contribution) -> None:
    """Put a run on record whose operate point has this budget; none, no ±."""
    header = builders.header(
        run_id=run_id, conditions=builders.conditions(rig_id=rig_id)
    )
    figures = builders.run_figures()
    operate = replace(figures.operate, budget=lines)
    if not lines:
        operate = Figure(
            value=8.0,
            unit="mm",
            expanded_uncertainty=None,
            coverage_factor=None,
            effective_degrees_of_freedom=None,
            standard_deviation=None,
            n=2,
            why_none="too few",
        )
    writer = Writer(store)
    writer.begin_run(header)
    writer.end_run(run_id, ended_at=builders.NOON, home_shift_steps=0)
    writer.add_figures(
        run_id, replace(figures, operate=operate), computed_at=builders.NOON
    )


def test_parts_of_one_cause_are_one_share_and_what_is_declared_is_none(
    store: Store,
) -> None:
    # Squares in µm²: 9, 16 (half of 8), 144, and 7056 twice
    put(
        store,
        "20261125-120000-000-aaaa",
        "bench-1",
        line("periodic error of the screw, sine part (assumed)", 3.0),
        line("periodic error of the screw, cosine part (assumed)", 8.0, -0.5),
        line("touch probe, offset (certificate)", 12.0),
        line("flatness of the plate (assumed)", 84.0),
        line("scatter of the sweeps", 84.0),
    )

    effect = effects_by_rig(Reader(store))["bench-1"]

    total = 9 + 16 + 144 + 7056 + 7056
    shares = {one.cause: one.share_percent for one in effect.assumed}
    assert list(shares) == ["flatness of the plate", "periodic error of the screw"]
    assert shares["periodic error of the screw"] == pytest.approx(100 * 25 / total)
    assert shares["flatness of the plate"] == pytest.approx(100 * 7056 / total)
    assert effect.assumed_percent == pytest.approx(100 * 7081 / total)


def test_the_newest_run_with_an_uncertainty_counts_rig_by_rig(store: Store) -> None:
    offset = line("touch probe, offset (assumed)", 1.0)
    put(store, "20261125-120000-000-aaaa", "bench-1", offset)
    put(store, "20261125-120001-000-bbbb", "bench-1", line("scatter", 1.0), offset)
    put(store, "20261125-120002-000-cccc", "bench-1")
    put(store, "20261125-120003-000-dddd", "bench-2", line("scatter", 1.0))

    found = effects_by_rig(Reader(store))

    assert found["bench-1"].run_id == "20261125-120001-000-bbbb"
    assert found["bench-1"].assumed_percent == pytest.approx(50.0)
    assert found["bench-2"].assumed == ()


def test_the_sheet_says_it_in_one_sentence_or_that_it_is_unknown(store: Store) -> None:
    unknown = bench_sheet(benches_on_record(store, "bench-1").benches[0]).effect
    offset = line("touch probe, offset (assumed)", 3.0)
    put(store, "20261125-120000-000-aaaa", "bench-1", offset, line("scatter", 1.0))
    put(store, "20261125-120001-000-bbbb", "bench-2", line("scatter", 1.0))

    told = bench_sheet(benches_on_record(store, "bench-1").benches[0]).effect
    other = bench_sheet(benches_on_record(store, "bench-2").benches[0]).effect

    assert "unknown" in unknown
    assert "20261125-120000-000-aaaa (SIMULATED)" in told
    assert "90 % was assumed, the largest causes: touch probe, offset 90 %." in told
    assert "none of its variance was assumed" in other


def test_a_run_from_before_the_declaration_says_that_it_counts_later(
    store: Store,
) -> None:
    offset = line("touch probe, offset (assumed)", 3.0)
    put(store, "20261125-120000-000-aaaa", "bench-1", offset, line("scatter", 1.0))
    bench = benches_on_record(store, "bench-1").benches[0]

    def told(**changes: object) -> str:
        return bench_sheet(replace(bench, **changes)).effect

    hour = timedelta(hours=1)
    words = "from before this declaration"
    assert words in told(declared=True, entered_at=builders.NOON + hour)
    assert words not in told(declared=True, entered_at=builders.NOON - hour)
    # What was put off declares nothing
    assert words not in told(declared=False, entered_at=builders.NOON + hour)
