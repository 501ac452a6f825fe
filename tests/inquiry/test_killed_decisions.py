"""Programs that are killed while lots are inspected and a class reads by hand."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from rig.inquiry.lot import standing_of
from rig.inquiry.trail_replay import replay
from rig.inquiry.verification import lots_on_record, verify_records
from rig.records import open_records
from rig.records.hand_readings import HandBook
from rig.records.lot_book import LotBook
from rig.records.trail_book import TrailBook

KILLS = 12
SCRIPT = Path(__file__).parent / "deciding_process.py"
ROOT = Path(__file__).parents[2]
CLASS = 3  # people, whose readings go on record together


def life(nursery: subprocess.Popen[str], chance: random.Random) -> tuple[int, int]:
    """Have a child make entries, kill it; return what it said is on record."""
    assert nursery.stdin is not None
    assert nursery.stdout is not None
    nursery.stdin.write("go\n")
    nursery.stdin.flush()
    child = int(nursery.stdout.readline().split()[1])
    said = (0, 0)
    lines = [nursery.stdout.readline() for _ in range(chance.choice((0, 1, 4, 9)))]
    time.sleep(chance.uniform(0.0, 0.01))
    os.kill(child, signal.SIGKILL)
    while (line := nursery.stdout.readline()) != f"dead {child}\n":
        assert line
        lines.append(line)
    for line in lines:
        entries, readings = map(int, line.split()[1:])
        said = (entries, readings)
    return said


def test_killed_inspections_and_classes_lose_and_double_nothing(
    tmp_path: Path,
) -> None:
    path, chance = tmp_path / "measured.sqlite", random.Random(20261125)
    before = (0, 0)
    with subprocess.Popen(
        [sys.executable, str(SCRIPT), str(path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    ) as nursery:
        for _ in range(KILLS):
            said = max(life(nursery, chance), before)
            if not path.exists():
                continue
            with open_records(path) as store:
                trail = TrailBook(store).entries()
                found = (len(trail), len(HandBook(store).every()))
                lots = lots_on_record(store)
                assert verify_records(store).intact
                assert replay(trail).lots == lots
            # At most the entry is more that was killed between the commit and the word
            assert found >= said
            assert found[1] - said[1] in (0, CLASS)
            assert found[1] % CLASS == 0
            before = found
        assert nursery.stdin is not None
        nursery.stdin.close()

    with open_records(path) as store:
        book = LotBook(store)
        begun = book.all_lots()
        # One after another: none begun twice, none left behind
        assert [one.supplier for one in begun] == [
            f"supplier {number}" for number in range(len(begun))
        ]
        decided = [standing_of(book, one.lot_id) for one in begun[:-1]]
        assert all(one.decision is not None for one in decided)
        assert [[part.value for part in one.parts] for one in decided] == [
            [8.0, 8.0] for _ in decided
        ]
    assert len(begun) > KILLS // 3
