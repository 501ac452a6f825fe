"""Inspects lots and takes readings of a class until it is killed.

python deciding_process.py FILE     a child for each line read

A step is one entry of a person, and says what is on record when it is: the number of
entries in the trail of the lots, and of readings of the class.
"""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from rig.inquiry.hand import enter_readings
from rig.inquiry.lot import standing_of
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_value
from rig.records import Store, open_records
from rig.records.hand_readings import HandBook, HandReading
from rig.records.lot_book import LotBook
from rig.records.trail_book import TrailBook

BEGUN = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
SAMPLE = 2  # of lots of 8 at 6.5 %
PEOPLE = ("Ames", "Brook", "Cole")


def say(*words: object) -> None:
    # One write a line, so that a killed process says a whole line or nothing
    os.write(1, (" ".join(map(str, words)) + "\n").encode())


def on_record(store: Store) -> tuple[int, int]:
    return len(TrailBook(store).entries()), len(HandBook(store).every())


def step(store: Store) -> None:
    """Make the entry that is due: of the class, or of lots one after another."""
    book, begun = LotBook(store), LotBook(store).all_lots()
    if len(HandBook(store).every()) < len(PEOPLE) * len(begun):
        class_reads(store, len(begun))
        return
    now = BEGUN + timedelta(hours=len(begun))
    lot_id = begun[-1].lot_id if begun else ""
    standing = standing_of(book, lot_id) if begun else None
    if standing is None or standing.decision is not None:
        order = LotOrder(
            product="level-18",
            supplier=f"supplier {len(begun)}",
            size=8,
            aql_percent=6.5,
            lower=7.9,
            upper=8.1,
        )
        begin_lot(store, order, now)
    elif len(standing.parts) < SAMPLE:
        enter_value(book, lot_id, str(len(standing.parts) + 1), 8.0, 0.02, now=now)
    else:
        decide_lot(book, lot_id, now=now)


def class_reads(store: Store, lesson: int) -> None:
    readings = [
        HandReading(
            person=person,
            sensor="level-18",
            part="S-1",
            target="steel",
            figure="operate",
            value_mm=8.0,
            source="typed",
            entered_at=BEGUN + timedelta(hours=lesson),
            label="",
            step_mm=0.5,
        )
        for person in PEOPLE
    ]
    enter_readings(store, readings)


def go_on_for_ever(path: Path) -> None:
    with open_records(path) as store:
        while True:
            step(store)
            say("kept", *on_record(store))


def main(path: Path) -> None:
    for _line in sys.stdin:
        child = os.fork()
        if child == 0:
            go_on_for_ever(path)
        say("child", child)
        os.waitpid(child, 0)
        say("dead", child)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
