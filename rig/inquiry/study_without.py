"""Rows of a study whose part was tried and gave no figures."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from rig.inquiry.tried import outcome_words
from rig.records import RunFilter, Store
from rig.records.attempt_book import AttemptBook
from rig.records.studies import StudyEntry, StudyRow


@dataclass(frozen=True, slots=True, kw_only=True)
class RowWithout:
    """What came of the last attempt at a row that has no reading.

    Attributes:
        order: Number of the row.
        part: Serial or sample number.
        result: How the attempt ended, in a word or two.
        sentence: What was seen.
        causes: Likely causes or what to do; may be empty.
        run_id: Identity that the run has, or would have had.
    """

    order: int
    part: str
    result: str
    sentence: str
    causes: str
    run_id: str


def note_of_row(study_id: str, row: StudyRow) -> str:
    """Return the note of every attempt at a row, by which it is found again."""
    return (
        f"study {study_id}, row {row.order}: appraiser {row.appraiser}, trial"
        f" {row.trial}"
    )


def rows_without(
    store: Store, study: StudyEntry, read: Collection[int]
) -> tuple[RowWithout, ...]:
    """Return the rows that were tried and have no reading, in their order.

    What ended an attempt that says nothing of the part, such as a stop, is left out.

    Args:
        store: Open records; a snapshot where they may be written meanwhile.
        study: The study.
        read: Numbers of the rows that have a reading.

    Raises:
        RecordsError: The records cannot be read.
    """
    row_of = {note_of_row(study.study_id, row): row for row in study.rows}
    wanted = RunFilter(since=study.begun_at)
    found: dict[int, RowWithout] = {}
    for one in AttemptBook(store).attempts(wanted):
        row, end = row_of.get(one.note), one.end
        if row is None or row.order in read or end is None:
            continue
        if end.outcome.of_the_sensor:
            found[row.order] = RowWithout(
                order=row.order,
                part=row.part,
                result=outcome_words(end.outcome, one.sensor, one.target),
                sentence=end.sentence,
                causes=end.causes,
                run_id=one.run_id,
            )
    return tuple(found[order] for order in sorted(found))


def words_of_rows(rows: Sequence[RowWithout]) -> str:
    """Return which parts gave no figures, and in which rows."""
    of_part: dict[str, list[str]] = {}
    for one in rows:
        of_part.setdefault(f"part {one.part} {one.result}", []).append(str(one.order))
    return "; ".join(f"{what} (row {', '.join(n)})" for what, n in of_part.items())
