"""A barcode scanner types into every screen: nothing moves, nothing goes on record.

Screens are found in the code, so a new one fails here until a scene shows it.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest
from sqlalchemy import inspect as inspect_tables
from textual import events
from textual.command import CommandPalette
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input, Static

import rig.tui
from rig.records import open_records
from rig.tui.app.leave_question import LeaveQuestion
from rig.tui.app.palette import commands
from rig.tui.frame.burst import LONGEST_GAP_S, Burst, Stroke, cleaned
from rig.tui.frame.confirm_screen import Confirm
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.frame.list_screen import ListScreen
from rig.tui.frame.paged_screen import PagedScreen
from rig.tui.frame.record_form import RecordForm
from rig.tui.frame.scan_guard import SCAN_PREFIX_VARIABLE, SHORTEST_PAUSE_S, TakesPart
from rig.tui.frame.work_screen import WorkScreen
from rig.tui.inspector.lot_job import OpenLot
from rig.tui.instructor.lesson_screen import LessonScreen
from rig.tui.instructor.turn_trimmer import TurnTrimmer
from rig.tui.instructor.typing_screen import TypingScreen
from rig.tui.rig.bench_job import CheckBench, Connect, ListPorts, Mount
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_thread import RigThread
from rig.tui.widgets.part_table import PartTable
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.scenes import SCENES
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import CHECKED, READY

CODES = (
    "bay-0418",
    "rod-55",
    "SUP-0099",
    "y",
    "d",
    "yes y d u a v e",
    "0418",
    "n/?ox-1234",
)
FEW = ("bay-0418\r", "yes y d u a v e\r\n", "~rod-55\t", "y\r", "no-1\rno-2\r")
PREFIXES = ("", "~", "]C1", " ", "\x02")
SUFFIXES = ("", "\r", "\n", "\r\n", "\t")
FRAMES = {
    FramedScreen,
    WorkScreen,
    ListScreen,
    PagedScreen,
    LessonScreen,
    TypingScreen,
    RecordForm,
}  # never shown by themselves
# What Enter may do where a hand presses it: it moves nothing and keeps nothing
HARMLESS = (Connect, ListPorts, Mount, OpenLot, TurnTrimmer)
_KEYS = {
    "\r": "enter",
    "\n": "ctrl+j",
    "\t": "tab",
    " ": "space",
    "\x02": "ctrl+b",
    "\x1d": "ctrl+right_square_bracket",
}


async def _at_trimmer(pilot: Pilot[None]) -> None:
    await situate(pilot, CHECKED, READY)
    await pilot.app.run_action("app.open_screen('trimmer')")
    await at_screen(pilot, "Set trimmer")


ALL_SCENES = {
    **SCENES,
    "trimmer_ready": Scene(open=_at_trimmer),
}
SHOWN = [
    (kind, name)
    for kind, names in {
        "RigScreen": ("rig", "rig_lost"),
        "CarryOnScreen": ("carry_on", "carry_on_ended"),
        "BenchScreen": ("bench", "bench_fit", "bench_undeclared", "rig_changed"),
        "ConfirmRigForm": ("confirm_rig",),
        "DeclarationScreen": ("declaration", "declaration_none"),
        "DeclarationForm": ("declaration_number", "declaration_class"),
        "DeclarationFileForm": ("declaration_file",),
        "SweepsScreen": ("sweeps_going", "sweeps_stopped", "sweeps_ended"),
        "HomeScreen": ("home",),
        "Help": ("help",),
        "PlansScreen": ("plans",),
        "PlanMaker": ("new_plan",),
        "PlanDay": ("plan",),
        "MountPrompt": ("mount",),
        "DeadPairQuestion": ("dead_pair",),
        "RunsScreen": ("runs",),
        "PartsScreen": ("parts",),
        "LotsScreen": ("lots",),
        "RunScreen": ("run_page",),
        "NoteForm": ("note",),
        "DocumentForm": ("certificate", "nonconformity"),
        "SuppliersScreen": ("suppliers",),
        "HistoryScreen": ("history",),
        "BatchScreen": ("batch",),
        "BatchResultScreen": ("batch_parts", "batch_picture"),
        "StudyScreen": ("studies",),
        "StudyForm": ("new_study",),
        "StudyReadings": ("study_rows",),
        "ReadingForm": ("reading",),
        "StudyPrompt": ("mount_for_study",),
        "StudyResultScreen": ("study_figures",),
        "GaugeScreen": ("gauge_form",),
        "GaugeResultScreen": ("gauge_figures", "gauge_picture"),
        "CalibrationScreen": ("calibration", "calibration_table"),
        "CalibrationForm": ("new_calibration",),
        "TrimmerScreen": ("trimmer_ready", "trimmer_more"),
        "LotScreen": ("lot",),
        "PartHistoryScreen": ("part_history",),
        "InspectionScreen": ("inspection_new", "inspection_bad", "inspection_decided"),
        "RecordQuestion": (
            "begin_lot",
            "lay_out_study",
            "declaration_later",
        ),
        "ProductsScreen": ("products", "products_none"),
        "ProductForm": ("product_sheet", "product_sheet_empty"),
        "ApprovalForm": ("product_approval",),
        "ProductFileForm": ("product_file",),
        "BySight": ("by_sight",),
        "DecideForm": ("decide_lot",),
        "GroundsForm": ("inspect_again", "withdraw_lot"),
        "SignForm": ("sign_lot",),
        "LotTrailScreen": ("lot_trail",),
        "OperatorsScreen": ("operators",),
        "OperatorForm": ("name_operator",),
        "PinForm": ("set_pin",),
        "Confirm": ("consent",),
        "Details": ("details",),
        "LeaveQuestion": ("leave",),
        "ClassLiveScreen": ("class_live",),
        "ClassPredictScreen": ("class_predict",),
        "ClassRepeatScreen": ("class_repeat",),
        "ClassSettingsScreen": ("class_settings",),
        "ClassHandScreen": ("class_hand",),
        "ClassMaterialsScreen": ("class_materials",),
        "ClassTableScreen": ("class_table",),
        CommandPalette.__name__: ("palette",),
    }.items()
    for name in names
]


class Pace:
    """A clock for keys: by hand or, while something is scanned, a scanner's."""

    def __init__(self) -> None:
        self.now_s = 0.0
        self.step_s = 1.0

    def __call__(self, _: events.Key) -> float:
        self.now_s += self.step_s
        return self.now_s


@pytest.fixture
def bystander(monkeypatch: pytest.MonkeyPatch) -> list[Job]:
    """Notes what is asked of the rig's thread."""
    asked: list[Job] = []
    monkeypatch.setattr(RigThread, "submit", lambda _, job: asked.append(job))
    return asked


def screens_in_the_code() -> set[type[Screen[object]]]:
    for module in pkgutil.walk_packages(rig.tui.__path__, f"{rig.tui.__name__}."):
        importlib.import_module(module.name)
    found = set()
    todo = [Screen]
    while todo:
        for kind in todo.pop().__subclasses__():
            todo.append(kind)
            if kind.__module__.startswith("rig."):
                found.add(kind)
    return found - FRAMES


def rows(records: str) -> dict[str, list[tuple[object, ...]]]:
    with open_records(records) as store, store.reading() as connection:
        names = inspect_tables(connection).get_table_names()
        return {
            name: [
                tuple(row)
                for row in connection.exec_driver_sql(f'SELECT * FROM "{name}"')
            ]
            for name in names
        }


def codes(name: str, suffixes: tuple[str, ...] = SUFFIXES) -> Iterator[str]:
    """Every code with a prefix and a suffix, other ones in each scene; one twice."""
    begin = list(ALL_SCENES).index(name)
    for number, code in enumerate(CODES, begin):
        prefix = PREFIXES[number // len(SUFFIXES) % len(PREFIXES)]
        yield f"{prefix}{code}{suffixes[number % len(suffixes)]}"
    code = CODES[begin % 2]
    yield f"{code}\r{code}\r"


async def scan(pilot: Pilot[None], pace: Pace, code: str) -> None:
    """Type a code as a scanner does: all of it before the app has taken any."""
    pace.now_s += 10.0
    pace.step_s = LONGEST_GAP_S / 10
    type_in(pilot, code)
    await pilot.pause()
    pace.step_s = 1.0


def type_in(pilot: Pilot[None], code: str) -> None:
    for sign in code:
        key = _KEYS.get(sign, sign)
        pilot.app.post_message(events.Key(key, sign))


def test_every_screen_of_the_code_is_typed_into() -> None:
    known = {name for name, _ in SHOWN if name != CommandPalette.__name__}

    assert {kind.__name__ for kind in screens_in_the_code()} == known


@pytest.mark.long
@pytest.mark.parametrize(("kind", "name"), SHOWN)
async def test_a_scan_begins_nothing_whatever_has_the_focus(
    still: MakeApp, records: str, bystander: list[Job], kind: str, name: str
) -> None:
    pace = Pace()
    scene = ALL_SCENES[name]
    scene.prepare(records)
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await scene.open(pilot)
        screen, before = app.screen, rows(records)
        assert type(screen).__name__ == kind
        bystander.clear()
        for code in codes(name):
            await scan(pilot, pace, code)
            assert bystander == [], code
            await _back(pilot, screen)
        begin = list(ALL_SCENES).index(name)
        for number in range(2 * len(screen.focus_chain)):
            # Twice round, with other codes the second time
            code = FEW[(begin + number + number // len(screen.focus_chain)) % len(FEW)]
            screen.set_focus(screen.focus_chain[number % len(screen.focus_chain)])
            await scan(pilot, pace, code)
            assert bystander == [], (code, number)
            await _back(pilot, screen)
        assert app.is_running
        assert rows(records) == before


async def _back(pilot: Pilot[None], screen: Screen[object]) -> None:
    """Close what a key for another view has opened; the screen itself must stand."""
    while pilot.app.screen is not screen:
        assert screen in pilot.app.screen_stack, "a scan has closed the screen"
        await pilot.app.pop_screen()


@pytest.mark.long
@pytest.mark.parametrize(("kind", "name"), SHOWN)
async def test_the_same_keys_by_hand_neither_move_nor_record(
    still: MakeApp, records: str, bystander: list[Job], kind: str, name: str
) -> None:
    scene = ALL_SCENES[name]
    scene.prepare(records)
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await scene.open(pilot)
        before = rows(records)
        assert type(app.screen).__name__ == kind
        bystander.clear()
        for code in codes(name, ("\r", "\t")):
            type_in(pilot, code)
            await pilot.pause()

        assert [one for one in bystander if not isinstance(one, HARMLESS)] == []
        assert app.is_running
        assert rows(records) == before


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "place"),
    [
        ("inspection_good", "#lot-part"),
        ("sweeps_ended", "#part"),
        ("mount", "#mount-part"),
        ("details", "#part"),
    ],
)
async def test_a_scan_goes_to_the_part_field_wherever_the_focus_is(
    still: MakeApp, records: str, name: str, place: str
) -> None:
    pace = Pace()
    ALL_SCENES[name].prepare(records)
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES[name].open(pilot)
        screen = app.screen
        part = screen.query_one(place, Input)
        assert isinstance(screen, TakesPart)
        assert screen.part_field() is part
        others = [one for one in screen.query(Input) if one is not part]
        before = [one.value for one in others]
        for number, widget in enumerate([*screen.focus_chain, None]):
            for suffix in SUFFIXES:
                code = f"bay 04-{number}"
                screen.set_focus(widget)
                await scan(pilot, pace, f"{code} {suffix}")

                assert part.value == code.upper()
                assert app.focused is part
                assert [one.value for one in others] == before
        await scan(pilot, pace, "one-1\rtwo-2\r")
        twice = part.value
        await scan(pilot, pace, "\x02ab\x02c-3\r")

    assert twice == "TWO-2"
    assert part.value == "ABC-3"


@pytest.mark.long
@pytest.mark.parametrize(
    "code",
    [
        "]d2010950600013435221s-7\x1d17291231\r",
        "0109506000134352" + "21S-7\r",
        "]C110LOT-4\x1d21S-7\r",
    ],
)
async def test_of_a_gs1_code_the_serial_number_is_the_part(
    still: MakeApp, records: str, code: str
) -> None:
    pace = Pace()
    ALL_SCENES["inspection_good"].prepare(records)
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["inspection_good"].open(pilot)
        await scan(pilot, pace, code)

        assert app.screen.query_one("#lot-part", Input).value == "S-7"


@pytest.mark.long
async def test_a_gs1_code_without_a_serial_number_is_refused_in_words(
    still: MakeApp, records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pace = Pace()
    ALL_SCENES["inspection_good"].prepare(records)
    app = still(time_of_key=pace)
    said: list[str] = []

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["inspection_good"].open(pilot)
        monkeypatch.setattr(app, "notify", lambda words, **_: said.append(words))
        await scan(pilot, pace, "]d2010950600013435210LOT-4\r")

        assert app.screen.query_one("#lot-part", Input).value == ""
    assert len(said) == 1
    assert "without a serial number" in said[0]


@pytest.mark.long
async def test_a_slow_scanner_is_known_by_its_prefix_key(
    still: MakeApp, records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(SCAN_PREFIX_VARIABLE, "f11")
    pace = Pace()
    ALL_SCENES["inspection_good"].prepare(records)
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["inspection_good"].open(pilot)
        speeds = app.screen.query_one("#speeds", Input)
        speeds.focus()
        before = speeds.value
        pace.step_s = 20 * LONGEST_GAP_S
        await pilot.press("f11", *"s-9", "enter")

        assert app.screen.query_one("#lot-part", Input).value == "S-9"
        assert speeds.value == before


@pytest.mark.long
async def test_what_is_typed_by_hand_stays_where_it_is_typed(
    still: MakeApp, records: str
) -> None:
    ALL_SCENES["inspection_good"].prepare(records)
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["inspection_good"].open(pilot)
        part = app.screen.query_one("#lot-part", Input)
        app.screen.query_one("#speeds", Input).focus()
        await pilot.press(*"2,3")
        typed = app.screen.query_one("#speeds", Input).value, part.value
        app.screen.query_one(PartTable).focus()
        await pilot.press(*"K-7")

    assert typed == ("2,3", "5")
    assert part.value == "K-7"


@pytest.mark.long
@pytest.mark.parametrize(
    ("name", "field", "words"),
    [
        ("plans", "", "not taken"),
        ("consent", "", "not taken"),
        ("trimmer_ready", "#trimmer-gap", "not taken"),
        ("runs", "#runs-filter", "stands in the field"),
    ],
)
async def test_where_no_part_is_asked_for_it_is_said_what_became_of_a_scan(
    still: MakeApp, records: str, name: str, field: str, words: str
) -> None:
    pace = Pace()
    ALL_SCENES[name].prepare(records)
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES[name].open(pilot)
        before = app.screen.query_one(field, Input).value if field else ""
        if field:
            app.screen.query_one(field).focus()
        await scan(pilot, pace, "rod-55\r")
        after = app.screen.query_one(field, Input).value if field else ""
        said = [note.message for note in app._notifications]

    assert [words in one for one in said] == [True]
    assert after == ("rod-55" if words == "stands in the field" else before)


@pytest.mark.long
async def test_a_chord_that_is_held_down_does_not_answer_its_own_question(
    still: MakeApp, bystander: list[Job]
) -> None:
    pace = Pace()
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["bench"].open(pilot)
        bystander.clear()
        pace.step_s = 0.5
        await pilot.press("ctrl+g")
        pace.step_s = 0.03
        for _ in range(5):
            await pilot.press("ctrl+g")
        held = list(bystander)
        asks = isinstance(app.screen, Confirm)
        pace.step_s = SHORTEST_PAUSE_S
        await pilot.press("ctrl+g")
        await pilot.pause()

    assert held == []
    assert asks
    assert bystander == [CheckBench()]


@pytest.mark.long
async def test_a_chord_inside_a_scan_is_part_of_the_code(
    still: MakeApp, records: str, bystander: list[Job]
) -> None:
    pace = Pace()
    app = still(time_of_key=pace)

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["sweeps_ended"].open(pilot)
        bystander.clear()
        pace.step_s = LONGEST_GAP_S / 10
        await pilot.press("b", "a", "ctrl+g", "y")

    assert bystander == []
    assert app.particulars.part == "BAY"


@pytest.mark.long
async def test_enter_in_the_palette_explains_and_does_nothing(
    still: MakeApp, records: str, bystander: list[Job]
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["sweeps_ended"].open(pilot)
        bystander.clear()
        before = rows(records)
        await pilot.press("ctrl+p")
        options = app.screen.query_one("CommandList")
        await until(pilot, lambda: options.option_count > 5)
        await pilot.press("enter")
        await at_screen(pilot, "Help")
        titles = [one.title for one in commands(app, app.screen)]

    assert app.return_value is None
    assert titles[0].startswith("help: ")
    assert titles[-1] == "app: Quit"
    assert bystander == []
    assert rows(records) == before


@pytest.mark.long
async def test_the_palette_only_names_what_begins_a_motion(
    still: MakeApp, bystander: list[Job]
) -> None:
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["sweeps_ended"].open(pilot)
        bystander.clear()
        (start,) = [c for c in commands(app, app.screen) if c.title == "run: Start"]
        start.callback()
        await pilot.pause()
        said = [note.title for note in app._notifications]

    assert bystander == []
    assert said == ["Ctrl+G"]


@pytest.mark.long
async def test_leaving_with_a_lot_that_is_typed_asks_first(
    still: MakeApp, records: str
) -> None:
    ALL_SCENES["lot"].prepare(records)
    app = still()

    async with app.run_test(size=(80, 24)) as pilot:
        await ALL_SCENES["lot"].open(pilot)
        app.screen.query_one("#supplier").focus()
        await pilot.press(*"mill", "ctrl+q")
        await until(pilot, lambda: isinstance(app.screen, LeaveQuestion))
        said = str(app.screen.query_one("#lost", Static).render())
        await pilot.press("escape")
        await at_screen(pilot, "Lot")
        app.screen.query_one("#supplier", Input).value = ""
        await pilot.pause()
        unsaved = set(app.unsaved)

    assert "a lot that is typed" in said
    assert unsaved == set()


def test_a_held_key_and_a_fast_hand_are_no_scan() -> None:
    held, hand = Burst(), Burst()
    for number in range(20):
        held.take("x", "x", 0.03 * number)
    for number, sign in enumerate("steel"):
        hand.take(sign, sign, 0.06 * number)

    assert not held.sure
    assert not hand.sure
    assert hand.take("enter", None, 0.06 * 5) is Stroke.OTHER


@pytest.mark.parametrize(
    ("typed", "sure", "text"),
    [("abc", False, "abc"), ("ab-1", True, "ab-1"), ("ab\r", True, "ab")],
)
def test_a_burst_is_sure_once_nobody_types_so(
    typed: str, sure: bool, text: str
) -> None:
    burst = Burst()
    for number, sign in enumerate(typed):
        key = _KEYS.get(sign, sign)
        burst.take(key, sign if sign.isprintable() else None, 0.005 * number)

    assert burst.sure is sure
    assert burst.text == text


@pytest.mark.parametrize(
    "code", ["  P 7 ", "\tP 7\r\n", "\x02P 7\x03", "P\x1d 7\x1e\x04"]
)
def test_control_characters_and_blanks_around_are_taken_off(code: str) -> None:
    assert cleaned(code) == "P 7"
