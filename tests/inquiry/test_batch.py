"""A batch is read from the records at one moment, with the runs behind it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from rig.analysis.limits.verdict import Decision
from rig.analysis.run.run_figures import run_figures
from rig.errors import InputError
from rig.inquiry import parts
from rig.inquiry.batch import BatchOptions, batch_of_tables, batch_on_record
from rig.inquiry.batch_document import batch_document
from rig.inquiry.documents import document
from rig.inquiry.parts import RunSelection, TableSelection
from rig.inquiry.recorded_run import recorded_run
from rig.model.mounted import Target
from rig.model.sweeps import Run
from rig.records import Store, Writer, open_records
from tests.report.conftest import BEGUN
from tests.report.kinds import PLATE, part_run

PVC = Target(name="pvc", material="pvc", thickness_mm=3.0)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "measured.sqlite"


@pytest.fixture
def store(path: Path) -> Iterator[Store]:
    with open_records(path) as found:
        yield found


def keep(store: Store, run: Run) -> None:
    writer, run_id = Writer(store), run.header.run_id
    writer.begin_run(run.header)
    for sweep in run.sweeps:
        writer.add_sweep(run_id, sweep)
    writer.end_run(run_id, ended_at=BEGUN + timedelta(minutes=3))
    writer.add_figures(run_id, run_figures(run), computed_at=BEGUN)


@pytest.fixture
def three_parts(store: Store) -> Store:
    for number, shift in ((1, 0), (2, 9), (3, -12)):
        keep(store, part_run(number, shift=shift))
    return store


def recomputed_wrongly(path: Path) -> None:
    """Give every run other figures, as a later analysis might."""
    with open_records(path) as other:
        for number in (1, 2, 3):
            run = part_run(number, shift=500)
            Writer(other).add_figures(
                run.header.run_id, run_figures(run), computed_at=BEGUN
            )


def test_table_and_evidence_are_of_one_moment(
    three_parts: Store, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read = parts.sound_runs_behind

    def meanwhile(*arguments):
        # Once the summaries are read, somebody works all figures out again
        recomputed_wrongly(path)
        return read(*arguments)

    monkeypatch.setattr(parts, "sound_runs_behind", meanwhile)

    result = batch_on_record(three_parts, RunSelection(), BatchOptions())

    behind = {
        one.run.header.run_id: one.computation.figures.operate.value
        for one in result.runs
        if one.computation is not None
    }
    table = {part.run_id: part.value for part in result.batches[0].parts}
    assert table == behind
    before = [run_figures(part_run(k, shift=s)) for k, s in ((1, 0), (2, 9), (3, -12))]
    assert list(table.values()) == [figures.operate.value for figures in before]


def test_records_are_read_in_one_transaction(
    three_parts: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = []
    reading: Callable[..., object] = Store.reading

    def counted(store: Store):
        begun.append(store)
        return reading(store)

    monkeypatch.setattr(Store, "reading", counted)

    batch_on_record(three_parts, RunSelection(), BatchOptions())

    assert len(begun) == 1


def test_a_reduction_factor_has_both_runs_behind_it(store: Store) -> None:
    for number in (1, 2, 3):
        keep(store, part_run(number, shift=number, target=PLATE))
        keep(store, part_run(number, shift=1000 + number, target=PVC))

    result = batch_on_record(
        store, RunSelection(target="pvc", against=PLATE.name), BatchOptions()
    )

    targets = sorted(one.run.header.target.name for one in result.runs)
    assert targets == ["pvc"] * 3 + [PLATE.name] * 3
    assert result.batches[0].parts[0].reference_run_id == f"run-1-{PLATE.name}"
    assert result.limit_statements == ("There are no limits for the reduction factor.",)


def test_each_part_is_held_against_every_limit_of_its_sensor(
    three_parts: Store,
) -> None:
    result = batch_on_record(three_parts, RunSelection(), BatchOptions())

    assert result.limits is not None
    said, without = result.limit_statements
    assert "No product was named" in without
    assert said.startswith("The verdict on a part is the gravest of all")
    (batch,) = result.batches
    shown = [recorded_run(three_parts, part.run_id) for part in batch.parts]
    for verdict, one in zip(batch.verdicts, shown, strict=True):
        assert one.standard is not None
        assert set(one.standard.verdicts) <= set(verdict.decisions)
        assert (verdict.decision is Decision.DOES_NOT_CONFORM) is (
            Decision.DOES_NOT_CONFORM in one.decisions
        )


def test_given_limits_are_looked_at_by_one_figure_alone(three_parts: Store) -> None:
    options = BatchOptions(lower=3.9, upper=4.1)

    result = batch_on_record(three_parts, RunSelection(), options)

    said, without = result.limit_statements
    assert "No product was named" in without
    assert said.startswith("Decided by the operate point alone: no other limit")
    rows = result.batches[0].summary.rows
    decisions = [one.decision for one in result.batches[0].verdicts]
    assert decisions == [row.decision for row in rows]


def test_confidence_holds_for_every_interval(three_parts: Store) -> None:
    options = BatchOptions(content=0.9, confidence=0.8, lower=3.9, upper=4.1)

    s = batch_on_record(three_parts, RunSelection(), options).batches[0].summary

    assert s.capability is not None
    assert s.capability.cp_interval is not None
    assert (s.tolerance.content, s.tolerance.confidence) == (0.9, 0.8)
    assert {
        s.mean_interval.confidence,
        s.sd_interval.confidence,
        s.capability.confidence,
        s.capability.cp_interval.confidence,
    } == {0.8}


def test_a_run_without_figures_says_how_they_are_had(store: Store) -> None:
    keep(store, part_run(1))
    run = part_run(2)
    Writer(store).begin_run(run.header)
    Writer(store).end_run(run.header.run_id, ended_at=BEGUN)

    with pytest.raises(InputError) as refused:
        batch_on_record(store, RunSelection(), BatchOptions())

    assert "has no figures" in str(refused.value)
    assert "gapsweep recompute" in refused.value.hint


def test_a_batch_of_tables_reads_no_records(tmp_path: Path) -> None:
    path = tmp_path / "spring.csv"
    path.write_text("part,value\nA,8.0\nB,8.1\nC,7.9\n", "utf-8")

    result = batch_of_tables(TableSelection(paths=(path,)), BatchOptions())

    assert result.tables == (str(path),)
    assert result.runs == ()
    assert [part.part for part in result.batches[0].parts] == ["A", "B", "C"]
    printed = document("batch", batch_document(result))
    assert printed["batches"]["spring"]["summary"]["n"] == 3
    assert printed["options"]["content"] == 0.95


def test_too_many_classes_want_names(three_parts: Store) -> None:
    options = BatchOptions(class_bounds=tuple(float(k) for k in range(26)))

    with pytest.raises(InputError) as refused:
        batch_on_record(three_parts, RunSelection(), options)

    assert "27 classes have no letters" in str(refused.value)
    named = replace(options, class_bounds=(3.9, 4.1), class_names=("a", "b", "c"))
    sorting = batch_on_record(three_parts, RunSelection(), named).batches[0].sorting
    assert sorting is not None
    assert sum(sorting.counts.values()) == 3
