"""The thread that owns the rig: alone with it, never in the way, gone at the end."""

from __future__ import annotations

import subprocess
import sys
import threading
from pathlib import Path

import pytest
from textual.widgets import Input

from firmware_protocol.messages import STOP_BYTE
from rig.catalogue.plan_file import parse_plan
from rig.errors import LinkLost
from rig.procedures.events import SweepEnded
from rig.procedures.particulars import Particulars
from rig.procedures.rounds import Visit
from rig.procedures.run_order import RunOrder
from rig.tui.rig.bench_job import CarryOutRun, CheckBench, Connect, Mount, TouchOff
from rig.tui.rig.rig_events import (
    Connected,
    DatumStands,
    Done,
    Failed,
    LinkGone,
    ProcedureReported,
    Reading,
)
from rig.tui.rig.rig_thread import THREAD_NAME, RigThread
from rig.tui.state.situation import LinkState
from rig.tui.technician.plan_job import BeginPlan, MeasurePair, PlanBegan
from rig.wiring import SimTransport
from tests.patience import PATIENCE_S
from tests.tui.conftest import FAST, MakeApp, at_screen, checked, idle, strike, until
from tests.tui.hold import Hold

STOP = bytes([STOP_BYTE]) * 3


@pytest.fixture
def callers(monkeypatch: pytest.MonkeyPatch) -> dict[str, set[str]]:
    """Record which threads read from the port, and which write what."""
    seen: dict[str, set[str]] = {"read": set(), "write": set(), "stop": set()}
    read, write = SimTransport.read, SimTransport.write

    def noted_read(self: SimTransport, longest_wait_s: float) -> bytes:
        seen["read"].add(threading.current_thread().name)
        return read(self, longest_wait_s)

    def noted_write(self: SimTransport, data: bytes) -> None:
        what = "stop" if data == STOP else "write"
        seen[what].add(threading.current_thread().name)
        write(self, data)

    monkeypatch.setattr(SimTransport, "read", noted_read)
    monkeypatch.setattr(SimTransport, "write", noted_write)
    return seen


@pytest.mark.long
async def test_the_rig_is_pumped_by_its_thread_alone(
    make_app: MakeApp, callers: dict[str, set[str]]
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        app.screen.query_one("#sweeps", Input).value = "50"
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: app.situation.run is not None)
        await idle(pilot)
        assert app.situation.run.good == 50
        await pilot.click("#stop")
        await pilot.pause()

    assert callers["read"] == {THREAD_NAME}
    assert callers["write"] == {THREAD_NAME}
    assert threading.main_thread().name in callers["stop"]
    assert THREAD_NAME not in {thread.name for thread in threading.enumerate()}


@pytest.mark.long
async def test_the_screen_goes_on_while_the_rig_keeps_its_thread_waiting(
    make_app: MakeApp, hold: Hold
) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        hold.after_sweep(1)
        strike(pilot, "ctrl+g")
        await until(pilot, hold.waiting.is_set)
        for key, place in (("f7", "Runs"), ("f1", "Help"), ("f4", "Sweeps")):
            strike(pilot, key)
            await at_screen(pilot, place)
        assert app.situation.moving
        app.action_stop_now()
        hold.let_go()
        await idle(pilot)

    assert app.situation.problem.stopped


def test_the_ui_starts_without_pandas() -> None:
    code = (
        "import sys, rig.tui.app.app; "
        "print({'pandas', 'matplotlib', 'scipy'} & set(sys.modules))"
    )

    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[2],
    )

    assert done.stdout.strip() == "set()"


class Listener:
    """Collects what a thread tells, and waits for it."""

    def __init__(self) -> None:
        self.events: list[object] = []
        self._came = threading.Condition()

    def __call__(self, event: object) -> None:
        with self._came:
            self.events.append(event)
            self._came.notify_all()

    def wait(self, kind: type, count: int = 1) -> list[object]:
        def found() -> list[object]:
            return [event for event in self.events if isinstance(event, kind)]

        with self._came:
            assert self._came.wait_for(
                lambda: len(found()) >= count, timeout=PATIENCE_S
            )
            return found()


@pytest.fixture
def listener() -> Listener:
    return Listener()


@pytest.fixture
def thread(listener: Listener, records: str):
    thread = RigThread(listener, records=records)
    thread.start()
    yield thread
    assert thread.close(10)


def test_commands_are_carried_out_one_after_another(
    thread: RigThread, listener: Listener
) -> None:
    from tests.tui.situations import SENSOR, TARGET

    order = RunOrder(sensor=SENSOR, target=TARGET, sweeps=3, speeds_mm_s=(1.0, 4.0))
    commands = [
        Connect(rig_name=FAST),
        Mount(sensor=SENSOR, target=TARGET),
        TouchOff(),
        CarryOutRun(order=order),
    ]

    for command in commands:
        thread.submit(command)

    assert [done.job for done in listener.wait(Done, 4)] == commands


def test_the_gap_is_known_while_a_pair_of_a_plan_is_measured(
    thread: RigThread, listener: Listener
) -> None:
    from tests.tui.situations import CATALOGUE, SENSOR, TARGET

    pair = 'sensors = ["level-18"]\ntargets = ["steel"]'
    text = f'title = "One"\nsweeps = 3\n[[run]]\n{pair}\n'
    thread.submit(Connect(rig_name=FAST))
    thread.submit(Mount(sensor=SENSOR, target=TARGET))
    thread.submit(BeginPlan(plan=parse_plan(text, "one pair", CATALOGUE)))
    (began,) = listener.wait(PlanBegan)
    visit = Visit(item=began.entry.items[0], first=0, sweeps=3)
    told = Particulars()

    thread.submit(MeasurePair(entry=began.entry, visit=visit, particulars=told))
    listener.wait(Done, 4)

    events = listener.events
    first = next(
        place
        for place, event in enumerate(events)
        if isinstance(event, ProcedureReported) and isinstance(event.event, SweepEnded)
    )
    before = [event for event in events[:first] if isinstance(event, DatumStands)]
    readings = [event for event in events[:first] if isinstance(event, Reading)]
    assert before[-1].datum is not None
    assert readings[-1].gap_mm is not None


def test_a_stop_reaches_moving_commands_that_still_wait_in_the_queue(
    listener: Listener, records: str
) -> None:
    from tests.tui.situations import SENSOR, TARGET

    thread = RigThread(listener, records=records)
    thread.submit(Connect(rig_name=FAST))
    thread.submit(Mount(sensor=SENSOR, target=TARGET))
    thread.submit(CheckBench())

    thread.stop()
    thread.start()

    (failed,) = listener.wait(Failed)
    assert failed.problem.stopped
    assert not [e for e in listener.wait(DatumStands) if e.datum is not None]
    assert thread.close(10)


def test_a_port_that_is_not_there_is_one_sentence_with_a_hint(
    thread: RigThread, listener: Listener
) -> None:
    thread.submit(Connect(rig_name="/dev/there-is-no-such-port"))

    (failed,) = listener.wait(Failed)
    assert failed.problem.sentence == "there is no port /dev/there-is-no-such-port"
    assert "gapsweep rigs" in failed.problem.hint


def test_a_fault_in_the_software_ends_the_command_and_not_the_thread(
    thread: RigThread, listener: Listener, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("something")

    from tests.tui.situations import SENSOR, TARGET

    monkeypatch.setattr("rig.procedures.touch_off.touch_off", broken)
    thread.submit(Connect(rig_name=FAST))
    thread.submit(Mount(sensor=SENSOR, target=TARGET))
    thread.submit(TouchOff())
    (failed,) = listener.wait(Failed)
    thread.submit(Connect(rig_name=FAST))

    assert "something" in failed.problem.sentence
    assert len(listener.wait(Connected, 2)) == 2


def test_a_link_that_breaks_between_two_commands_is_told(
    thread: RigThread, listener: Listener, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(self: SimTransport, longest_wait_s: float) -> bytes:
        raise LinkLost("the port went away", hint="check the cable")

    thread.submit(Connect(rig_name=FAST))
    listener.wait(Done)
    monkeypatch.setattr(SimTransport, "read", gone)

    (told,) = listener.wait(LinkGone)
    assert told.problem.sentence == "the port went away"


def test_records_that_cannot_be_opened_are_said_and_nothing_moves(
    listener: Listener, tmp_path: Path
) -> None:
    from tests.tui.situations import SENSOR, TARGET

    order = RunOrder(sensor=SENSOR, target=TARGET, sweeps=3, speeds_mm_s=(1.0,))
    thread = RigThread(listener, records=str(tmp_path))
    thread.start()
    thread.submit(Connect(rig_name=FAST))
    thread.submit(Mount(sensor=SENSOR, target=TARGET))
    thread.submit(TouchOff())
    thread.submit(CarryOutRun(order=order))

    # The touch-off asks them what is declared of the bench, and is refused
    refused, no_datum = listener.wait(Failed, 2)
    assert "is a folder, not a records file" in refused.problem.sentence
    assert no_datum.problem.sentence == "the bench has no datum"
    assert thread.close(10)
    assert not any(
        isinstance(each, DatumStands) and each.datum for each in listener.events
    )


@pytest.mark.long
async def test_an_unknown_port_is_said_on_the_screen(make_app: MakeApp) -> None:
    app = make_app()

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        app.screen.query_one("#other", Input).focus()
        await pilot.press(*"/dev/none", "enter")
        await until(pilot, lambda: app.situation.problem is not None)
        await idle(pilot)
        shown = str(app.screen.query_one("#problem").render())

    assert shown.startswith("✗ There is no port /dev/none.")
    assert "`gapsweep rigs` lists what is connected" in shown


@pytest.mark.long
@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("silent", "gives no answer"),
        ("nonsense", "but not as a rig"),
        ("too_new", "does not speak major version 1"),
    ],
)
async def test_a_rig_that_does_not_greet_is_said_and_another_can_be_chosen(
    make_app: MakeApp, fault: str, words: str
) -> None:
    app = make_app(f"{FAST}&fault={fault}")

    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await pilot.press("enter")
        await until(pilot, lambda: app.situation.problem is not None)
        await idle(pilot)
        shown = str(app.screen.query_one("#problem").render())
        await pilot.press("down", "down", "enter")
        await at_screen(pilot, "Bench")

    assert words in shown
    assert "Traceback" not in shown


@pytest.mark.long
@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("sensor_dead", "level-18 cannot be measured"),
        ("lost_steps:30&home_um=0", "is void: the home switch moved"),
    ],
)
async def test_a_bench_that_does_not_measure_is_said_and_the_datum_dropped(
    make_app: MakeApp, fault: str, words: str
) -> None:
    app = make_app(f"{FAST}&fault={fault}")

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: app.situation.problem is not None)
        await idle(pilot)
        shown = str(app.screen.query_one("#problem").render())

        assert words in shown
        assert app.situation.datum is None


@pytest.mark.long
async def test_a_controller_that_restarts_ends_the_link_and_says_so(
    make_app: MakeApp,
) -> None:
    app = make_app(f"{FAST}&fault=restart_at:36")

    async with app.run_test(size=(80, 24)) as pilot:
        await checked(pilot)
        await pilot.press("enter")
        await at_screen(pilot, "Sweeps")
        strike(pilot, "ctrl+g")
        await until(pilot, lambda: app.situation.link is LinkState.LOST)
        await idle(pilot)
        shown = str(app.screen.query_one("#problem").render())
        status = str(app.screen.query_one("#status").render())

    assert "restarted" in shown
    assert "✗ lost" in status
    assert "datum ◇ none" in status
