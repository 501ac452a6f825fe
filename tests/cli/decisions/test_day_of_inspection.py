"""A day of incoming inspection: every part is accounted for, wherever one looks.

The world is the simulated rig with its faults; which part has which is known here and
not to the code under test. Two inspectors share a lot, a lot is begun by mistake, a
value is typed wrongly and corrected, and a command is killed in the middle of a part.
"""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from rig.cli.main import run
from rig.inquiry.trail_replay import replay
from rig.inquiry.verification import lots_on_record
from rig.records import Reader, open_records
from rig.records.trail_book import TrailBook
from rig.wiring import read_sim_name
from sim.options import build
from sim.serve import serve_tcp
from tests.patience import PATIENCE_S

pytestmark = pytest.mark.long

PROGRAM = (sys.executable, "-c", "from rig.cli.main import main; main()")
ADA, BEN, CHIEF = "A. Holt", "B. Reyes", "C. Lund"
GOOD, BAD, OPEN = "conforms", "does not conform", "undecided"
# What is wrong with a part or happens to it: option of the rig, and what the lot says.
# A fault of the rig says nothing of the part and leaves it open.
DEFECTS = {
    "dead": ("fault=sensor_dead", BAD),
    "always on": ("fault=sensor_on", BAD),
    "chatter": ("fault=chatter:0.1", BAD),
    "too short": ("sensitivity=0.5", BAD),
    "dented": ("", BAD),
    "no supply": ("fault=supply_lost", OPEN),
    "steps lost": ("fault=lost_steps:30", OPEN),
}
LIMITS = ("--lower", "6", "--upper", "11")


@dataclass(frozen=True, kw_only=True)
class Day:
    """What was done, as the inspectors know it: results by lot and part."""

    folder: Path
    first: str
    second: str
    mistaken: str
    results: dict[tuple[str, str], str]
    tried: frozenset[str]  # parts that a rig tried
    entries: int  # results entered, those that were replaced among them


def said(*arguments: object) -> tuple[int, str]:
    """Run a command; return exit status and standard output."""
    with contextlib.redirect_stdout(io.StringIO()) as out:
        status = run([str(argument) for argument in arguments])
    return status, out.getvalue()


def document(*arguments: object) -> Any:
    return json.loads(said(*arguments, "--json")[1])


def begin(records: Path, size: int, *more: object) -> str:
    found = document(
        *("lot", "begin", "--product", "level-18", "--supplier", "north"),
        *("--size", size, "--aql", 1.0, *LIMITS, "--operator", ADA),
        *("--records", records, *more),
    )
    return str(found["lot_id"])


class Inspectors:
    """Carries out the day on records, and remembers what each part was."""

    def __init__(self, records: Path) -> None:
        self.records = records
        self.results: dict[tuple[str, str], str] = {}
        self.tried: set[str] = set()
        self.entries = 0
        self._seed = 0

    def enter(self, lot: str, part: str, expected: str, *how: object) -> None:
        status, _ = said("lot", "part", lot, part, *how, "--records", self.records)
        # With supply or link gone the command itself fails
        assert status == {GOOD: 0, BAD: 1, OPEN: status}[expected], (part, how, status)
        self.results[lot, part] = expected
        self.entries += 1

    def measure(
        self, lot: str, part: str, who: str, options: str, expected: str
    ) -> None:
        self._seed += 1
        name = f"sim://?seed={self._seed}" + (f"&{options}" if options else "")
        self.tried.add(part)
        self.enter(
            *(lot, part, expected, "--rig", name, "--target", "steel"),
            *("--sweeps", 5, "--operator", who),
        )

    def inspect(self, lot: str, part: str, who: str, defect: str) -> None:
        options, expected = DEFECTS.get(defect, ("", GOOD))
        if defect == "dented":
            self.measure(lot, part, who, "", GOOD)
            again = ("--again", "dent seen", "--operator", who)
            self.enter(lot, part, BAD, "--fails", "--reason", "dented", *again)
        else:
            self.measure(lot, part, who, options, expected)

    def measure_until_killed(self, lot: str, part: str) -> None:
        """Kill the command once the attempt is on record and the axis moves."""
        server, (host, port) = serve_tcp(build(read_sim_name("sim://?seed=77")))
        thread = threading.Thread(target=server.run)
        thread.start()
        terminal, keys = os.openpty()  # a person answers that the part is mounted
        try:
            process = subprocess.Popen(
                [
                    *(*PROGRAM, "lot", "part", lot, part, "--target", "steel"),
                    *("--sensor", "level-18", "--rig", f"socket://{host}:{port}"),
                    *("--operator", ADA, "--records", str(self.records)),
                ],
                stdin=keys,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            os.write(terminal, b"\n")
            deadline = time.monotonic() + PATIENCE_S
            while not self._under_way(part):
                assert process.poll() is None
                assert time.monotonic() < deadline
                time.sleep(0.02)
            process.send_signal(signal.SIGKILL)
            # Killed, so it had not ended by itself
            assert process.wait(PATIENCE_S) == -signal.SIGKILL
        finally:
            server.stop()
            thread.join(PATIENCE_S)
            os.close(terminal)
            os.close(keys)
        self.tried.add(part)

    def _under_way(self, part: str) -> bool:
        with open_records(self.records, read_only=True) as store:
            return any(
                attempt.part == part and attempt.end is None
                for attempt in Reader(store).attempts()
            )


def spend(folder: Path, sizes: tuple[int, int], every: int) -> Day:
    """Inspect two lots, and begin a third by mistake; one in `every` has a defect."""
    records = folder / "day.sqlite"
    for name, *more in (
        (CHIEF, "--authorises"),
        (ADA, "--by", CHIEF),
        (BEN, "--by", CHIEF),
    ):
        assert said("operator", "add", name, *more, "--records", records)[0] == 0
    team = Inspectors(records)

    mistaken = begin(records, 8)
    for number in range(2):
        team.inspect(mistaken, f"M-{number}", ADA, "")
    status, _ = said(
        *("lot", "withdraw", mistaken, "--reason", "lot of another supplier"),
        *("--operator", ADA, "--authority", CHIEF, "--records", records),
    )
    assert status == 0

    first, second = (begin(records, size) for size in sizes)
    defects, number_of_all = list(DEFECTS), 0
    for lot, letter in ((first, "P"), (second, "Q")):
        sample = document("lot", "show", lot, "--records", records)["sample"]
        for number in range(sample):
            part, who = f"{letter}-{number:02d}", (ADA, BEN)[2 * number >= sample]
            which, rest = divmod(number_of_all, every)
            number_of_all += 1
            defect = defects[which % len(defects)] if rest == every - 1 else ""
            if lot == second and number == 0:
                typed(team, lot, part, who)
            else:
                if lot == first and number == sample // 2:
                    team.measure_until_killed(lot, part)
                team.inspect(lot, part, who, defect)
    for lot in (first, second):
        said("lot", "decide", lot, "--operator", CHIEF, "--records", records)
    return Day(
        folder=folder,
        first=first,
        second=second,
        mistaken=mistaken,
        results=team.results,
        tried=frozenset(team.tried),
        entries=team.entries,
    )


def typed(team: Inspectors, lot: str, part: str, who: str) -> None:
    """Type a value a power of ten off, then another wrongly, then the right one."""
    far_off = ("--value", 82, "--uncertainty", 0.05, "--operator", who)
    assert said("lot", "part", lot, part, *far_off, "--records", team.records)[0] == 2
    wrong = ("--value", 5.2, "--uncertainty", 0.05, "--operator", who)
    team.enter(lot, part, BAD, *wrong)
    right = ("--value", 8.2, "--uncertainty", 0.05, "--operator", who)
    why = ("--authority", CHIEF, "--again", "5.2 was typed for 8.2")
    team.enter(lot, part, GOOD, *right, *why)


# At AQL 1 % a lot of 8 is inspected whole and one of 400 asks for 50 parts:
# MIL-STD-105E, tables I and II-A
@pytest.fixture(
    scope="module",
    params=[
        pytest.param(((8, 8), 2, 18), id="18 parts"),
        pytest.param(((400, 8), 6, 60), id="60 parts", marks=pytest.mark.long),
    ],
)
def day(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Day:
    sizes, every, parts = request.param
    spent = spend(tmp_path_factory.mktemp("day"), sizes, every)
    assert len(spent.results) == parts
    return spent


@pytest.fixture(autouse=True)
def records_of_the_day(day: Day, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GAPSWEEP_RECORDS", str(day.folder / "day.sqlite"))


def test_all_kinds_of_defect_were_there(day: Day) -> None:
    found = Counter(day.results.values())

    assert found[BAD] >= 5
    assert found[OPEN] >= 2
    assert found[GOOD] > found[BAD] + found[OPEN]


def test_a_lot_accounts_for_every_part_of_its_sample(day: Day) -> None:
    entries = 0
    for lot in (day.first, day.second, day.mistaken):
        shown = document("lot", "show", lot)
        expected = {part: what for (of, part), what in day.results.items() if of == lot}

        assert {p["part"]: p["decision"] for p in shown["parts"]} == expected
        counts = Counter(expected.values())
        assert {k: v for k, v in shown["counts"].items() if v} == dict(counts)
        entries += len(shown["readings"])
    assert entries == day.entries


def test_a_lot_with_a_part_that_fails_is_not_accepted(day: Day) -> None:
    listed = document("lot", "show")["lots"]
    states = {one["lot_id"]: one for one in listed}

    assert set(states) == {day.first, day.second, day.mistaken}
    for lot in (day.first, day.second):
        bad = sum(what == BAD for (of, _), what in day.results.items() if of == lot)
        shown = document("lot", "show", lot)
        assert shown["counts"][BAD] == bad
        assert shown["decision"]["accepted"] is False
    assert document("lot", "show", day.mistaken)["withdrawal"]["authority"] == CHIEF


def test_a_batch_accounts_for_every_part_that_a_rig_tried(day: Day) -> None:
    found = document("batch", "--sensor", "level-18")["batches"]["batch"]
    with_figures = {part["part"] for part in found["parts"]}
    without = {part["part"]: part["result"] for part in found["without"]}

    assert with_figures.isdisjoint(without)
    assert with_figures | set(without) == day.tried
    assert set(without.values()) >= {
        "never switches",
        "always on",
        "chatter",
        "supply gone",
    }


def test_a_report_names_every_part_with_who_looked_and_why_again(
    day: Day, tmp_path: Path
) -> None:
    for lot in (day.first, day.second):
        out = tmp_path / "lot.html"
        said("report", "--lot", lot, "--out", out)
        text = unescape(out.read_text(encoding="utf-8"))
        out.unlink()

        for of, part in day.results:
            assert (part in text) == (of == lot), (part, lot)
        assert ADA in text
        assert BEN in text
        if lot == day.second:
            assert "5.2 was typed for 8.2" in text
            assert CHIEF in text


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def test_an_export_accounts_for_every_part(day: Day, tmp_path: Path) -> None:
    status, _ = said("export", "--out", tmp_path / "out")

    assert status == 0
    results = rows_of(tmp_path / "out" / "lot_results.csv")
    counting = {
        (row["lot_id"], row["part"]): row["decision"]
        for row in results
        if row["counts"] == "true"
    }
    assert counting == day.results
    assert len(results) == day.entries
    lots = {row["lot_id"]: row for row in rows_of(tmp_path / "out" / "lots.csv")}
    assert lots[day.mistaken]["state"] == "withdrawn"
    assert lots[day.mistaken]["withdrawn_why"] == "lot of another supplier"
    assert lots[day.first]["state"] == lots[day.second]["state"] == "not accepted"
    attempts = rows_of(tmp_path / "out" / "attempts.csv")
    assert {row["part"] for row in attempts} == day.tried
    killed = [row["part"] for row in attempts if row["outcome"] == "interrupted"]
    assert len(killed) == 1
    # It was measured again, and that result stands
    assert counting[day.first, killed[0]] == day.results[day.first, killed[0]]


def test_the_trail_gives_the_same_state_and_is_whole(day: Day) -> None:
    with open_records(day.folder / "day.sqlite", read_only=True) as store:
        replayed = replay(TrailBook(store).entries())
        on_record = lots_on_record(store)

    assert replayed.lots == on_record
    assert set(on_record) == {day.first, day.second, day.mistaken}
    status, text = said("verify")
    assert status == 0, text
