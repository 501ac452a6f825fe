"""Plans and runs: one pair is done, the next one was stopped, two are due."""

from __future__ import annotations

import functools
import random
import tempfile
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from textual.pilot import Pilot
from textual.widgets import DataTable, Static

from rig.catalogue.catalogue import load_catalogue
from rig.catalogue.plan_file import parse_plan
from rig.errors import Stopped
from rig.model.attempts import Attempt, AttemptEnd, Outcome
from rig.model.settings import BenchSettings
from rig.procedures.begin_plan import begin_plan
from rig.procedures.events import Event, SweepEnded
from rig.procedures.particulars import Particulars
from rig.procedures.plan_walk import PlanWalk
from rig.procedures.run_context import RunContext
from rig.records import Writer, open_records
from rig.records.attempt_book import AttemptBook
from rig.records.hand_readings import HandBook, HandReading
from rig.tui.technician.dead_pair_question import DeadPairQuestion
from rig.tui.technician.run_detail import RunDetail
from rig.tui.technician.run_screen import RunScreen
from rig.tui.widgets.fitting_table import FittingTable
from rig.tui.widgets.motion_view import MotionView
from rig.tui.widgets.verdict_panel import VerdictPanel
from rig.wiring import connect
from tests.builders import figure, run_figures
from tests.tui.conftest import FAST, NOW, at_screen, until
from tests.tui.scenes.scene import Open, Scene, situate
from tests.tui.situations import CHECKED, HEADER, MOVING, READY, SWEEPING

_PLAN = """title = "Incoming, bay 3"
sweeps = 6

[[run]]
sensors = ["level-18"]
targets = ["steel", "pvc", "glass", "water"]
"""


def _work(records: Path) -> None:
    """Measure the first pair, and the second one until somebody stops it."""
    settings = BenchSettings()
    rig = connect(FAST, settings)
    clock = (NOW - timedelta(hours=1) + timedelta(seconds=8 * n) for n in range(9999))

    def stop_early(event: Event) -> None:
        if isinstance(event, SweepEnded) and event.good == 2:
            raise Stopped("stopped on request")

    with open_records(records) as store:
        quiet = replace(
            RunContext.on(rig.mover, settings, store, lambda _: None),
            now=lambda: next(clock),
            chance=random.Random(7),
        )
        plan = parse_plan(_PLAN, "incoming", load_catalogue())
        entry = begin_plan(plan, quiet)
        for tell in (quiet.tell, stop_early):
            walk = PlanWalk(
                entry,
                # Identities of runs begin at the same place for each
                replace(quiet, tell=tell, chance=random.Random(7)),
                rig.simulation.mount,
                Particulars(operator="Kim"),
            )
            with suppress(Stopped):
                walk.carry_out(walk.next_visit())
    rig.close()


@functools.cache
def _worked() -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "records.sqlite"
        _work(path)
        return path.read_bytes()


def _plan_on_record(records: str) -> None:
    Path(records).write_bytes(_worked())


def _part_on_record(records: str) -> None:
    """Have a part read by hand twice."""
    read = HandReading(
        person="Kim",
        sensor="level-18",
        part="S-7",
        target="steel",
        figure="operate",
        value_mm=7.95,
        source="typed",
        entered_at=NOW,
    )
    with open_records(records) as store:
        HandBook(store).add([read, replace(read, value_mm=8.0, person="Lee")])


def _parts_on_record(records: str) -> None:
    """Have parts that conform, fail, are undecided, died, and one read by hand."""
    tried = (
        ("A-1", 8.0, 30),
        ("A-2", 8.79, 25),
        ("A-3", 8.991, 20),
        ("A-1", 8.05, 15),
        ("A-4", None, 10),
    )
    with open_records(records) as store:
        writer, book = Writer(store), AttemptBook(store)
        for number, (part, operate_mm, minutes) in enumerate(tried):
            at = NOW - timedelta(minutes=minutes)
            run_id = f"20310304-0900{number:02}-000-000a"
            header = replace(HEADER, run_id=run_id, part=part, started_at=at)
            attempt = Attempt(
                run_id=run_id,
                index=0,
                sensor=header.sensor,
                target=header.target,
                sweeps_wanted=10,
                simulated=True,
                rig_id="sim-7",
                started_at=at,
                part=part,
            )
            book.begin(attempt)
            outcome = Outcome.NEVER_SWITCHES
            if operate_mm is not None:
                writer.begin_run(header)
                writer.end_run(run_id, ended_at=at, home_shift_steps=0, void="")
                made = run_figures(operate=figure(operate_mm, 0.022))
                writer.add_figures(run_id, made, computed_at=at)
                outcome = Outcome.FIGURES
            end = AttemptEnd(outcome=outcome, sentence="Seen.", causes="", ended_at=at)
            book.end(attempt, end)
    _part_on_record(records)


async def _at_plans(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.press("f6")
    await at_screen(pilot, "Plans")
    table = pilot.app.screen.query_one("#plans", DataTable)
    await until(pilot, lambda: table.row_count == 1)
    pairs = pilot.app.screen.query_one("#plan-pairs", Static)
    await until(pilot, lambda: bool(pairs.content))


async def _at_new_plan(pilot: Pilot[None]) -> None:
    await _at_plans(pilot)
    await pilot.press("n")
    await at_screen(pilot, "New plan")
    # A title, then past sweeps, speeds and parts to the ticks
    await pilot.press(*"Tuesday", "tab", "tab", "tab", "tab", "space", "tab")
    await pilot.press("space", "down", "space")


async def _at_plan(pilot: Pilot[None]) -> None:
    await _at_plans(pilot)
    await pilot.press("enter")
    await at_screen(pilot, "Plan")
    table = pilot.app.screen.query_one("#pairs", DataTable)
    await until(pilot, lambda: table.row_count == 4)


async def _pair_going(pilot: Pilot[None]) -> None:
    await _at_plan(pilot)
    pilot.app.situation, pilot.app.reading = SWEEPING, MOVING
    view = pilot.app.screen.query_one(MotionView)
    await until(pilot, lambda: view.at_rest)


async def _asked_to_mount(pilot: Pilot[None]) -> None:
    await _at_plan(pilot)
    await pilot.press("enter")
    await until(pilot, lambda: bool(pilot.app.screen.query("#mount-what")))


async def _asked_about_dead_pair(pilot: Pilot[None]) -> None:
    await _at_plan(pilot)
    question = DeadPairQuestion(
        "Pair 2 of 4, level-18 against pvc,",
        "not detected. The output did not change on the way in or out.",
        more=True,
    )
    pilot.app.push_screen(question)
    await until(pilot, lambda: pilot.app.screen is question)


async def _at_part_history(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('part_history')")
    await at_screen(pilot, "Part")
    await pilot.press(*"s-7")
    table = pilot.app.screen.query_one(FittingTable)
    await until(pilot, lambda: table.row_count == 2)


async def _at_runs(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.press("f7")
    await at_screen(pilot, "Runs")
    table = pilot.app.screen.query_one("#runs", DataTable)
    detail = pilot.app.screen.query_one(RunDetail)
    await until(pilot, lambda: table.row_count == 2)
    await until(pilot, lambda: bool(detail.run_id))


async def _at_parts(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('parts')")
    await at_screen(pilot, "Parts")
    table = pilot.app.screen.query_one("#parts", DataTable)
    events = pilot.app.screen.query_one("#part-events", Static)
    await until(pilot, lambda: table.row_count > 0)
    await pilot.press("down", "down")
    await until(pilot, lambda: "conforms" in str(events.content))


async def _at_run(pilot: Pilot[None]) -> None:
    await _at_runs(pilot)
    await pilot.press("down", "enter")
    await until(pilot, lambda: isinstance(pilot.app.screen, RunScreen))
    head = pilot.app.screen.query_one("#page-head")
    await until(pilot, lambda: "level-18" in str(head.render()))


async def _at_verdict(pilot: Pilot[None]) -> None:
    await _at_run(pilot)
    await pilot.press("2")
    panel = pilot.app.screen.query_one(VerdictPanel)
    await until(pilot, lambda: bool(panel.banner.word))


async def _at_pair_with_verdict(pilot: Pilot[None]) -> None:
    await _at_plan(pilot)
    await pilot.press("up")
    panel = pilot.app.screen.query_one(VerdictPanel)
    await until(pilot, lambda: bool(panel.banner.word))


async def _at_note(pilot: Pilot[None]) -> None:
    await _at_run(pilot)
    await pilot.press("ctrl+l")
    await until(pilot, lambda: bool(pilot.app.screen.query("#note-text")))


async def _at_certificate(pilot: Pilot[None]) -> None:
    await _at_run(pilot)
    await pilot.press("f12")
    await until(pilot, lambda: bool(pilot.app.screen.query("#document-fields")))


def _scene(open: Open) -> Scene:
    return Scene(open=open, prepare=_plan_on_record)


SCENES = {
    "plans": _scene(_at_plans),
    "new_plan": _scene(_at_new_plan),
    "plan": _scene(_at_plan),
    "plan_going": _scene(_pair_going),
    "mount": _scene(_asked_to_mount),
    "dead_pair": _scene(_asked_about_dead_pair),
    "part_history": Scene(open=_at_part_history, prepare=_part_on_record),
    "runs": _scene(_at_runs),
    "parts": Scene(open=_at_parts, prepare=_parts_on_record),
    "run_page": _scene(_at_run),
    "run_verdict": _scene(_at_verdict),
    "plan_verdict": _scene(_at_pair_with_verdict),
    "note": _scene(_at_note),
    "certificate": _scene(_at_certificate),
}
