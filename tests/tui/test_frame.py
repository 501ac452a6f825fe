"""What every screen has from its frame: each event once, each handler once."""

from __future__ import annotations

import ast
import asyncio
import threading
from pathlib import Path

import pytest
from textual.widgets import Input
from textual.widgets._toast import Toast

import rig.tui
from rig.records import Store
from rig.tui.app.app import GapsweepApp
from rig.tui.bench.sweeps_screen import SweepsScreen
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.lot_screen import LotScreen
from rig.tui.rig.rig_events import PortsListed, RigEvent
from rig.tui.technician.plan_day_screen import PlanDay
from rig.tui.widgets.next_line import NextLine
from tests.patience import PATIENCE_S
from tests.tui.conftest import MakeApp, at_screen, until
from tests.tui.first_of_scenes import first_of
from tests.tui.pending import settled
from tests.tui.scenes import SCENES

SOURCE = Path(rig.tui.__file__).parent
# The UI library runs these of every class of a screen, the frame's own among them
RUN_OF_EVERY_CLASS = ("on_mount", "on_screen_resume")
SHOWN = {
    "inspection_good": InspectionScreen,
    "begin_lot": LotScreen,
    "sweeps_ended": SweepsScreen,
    "plan": PlanDay,
}


def test_no_screen_runs_a_handler_of_its_frame_again() -> None:
    again = [
        f"{path.relative_to(SOURCE)}:{node.lineno}"
        for path in SOURCE.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in RUN_OF_EVERY_CLASS
    ]

    assert again == []


@pytest.mark.long
@pytest.mark.parametrize("name", SHOWN)
async def test_a_screen_hears_each_event_once(
    still: MakeApp, records: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    kind = SHOWN[name]
    heard: list[FramedScreen] = []
    hear = kind.hear

    def counted(screen: FramedScreen, event: RigEvent) -> None:
        heard.append(screen)
        hear(screen, event)

    monkeypatch.setattr(kind, "hear", counted)
    scene = SCENES[name]
    scene.prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await scene.open(pilot)
        await settled(pilot)
        heard.clear()
        app.rig_events.publish(PortsListed(ports=()))

    assert len(heard) == 1


@pytest.mark.long
@pytest.mark.parametrize("name", first_of(["consent", "mount", "by_sight", "leave"]))
async def test_the_next_line_beneath_a_dialog_is_about_the_dialog(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        await settled(pilot)
        beneath = app.screen_stack[-2]
        line = beneath.query_one(NextLine)
        during = line.sentence, line.busy
        app.pop_screen()
        await settled(pilot)

        assert app.screen is beneath
        assert during[1] or during[0].startswith("Answer what is asked in front")
        assert line.sentence != during[0] or line.busy


@pytest.mark.long
@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_a_notice_covers_neither_the_next_step_nor_the_keys(
    still: MakeApp, size: tuple[int, int]
) -> None:
    app = still()
    async with app.run_test(size=size, notifications=True) as pilot:
        await at_screen(pilot, "Rig")
        app.notify("gapsweep run plans/tuesday.toml", title="The command line runs it")
        await settled(pilot)
        await until(pilot, lambda: bool(app.screen.query(Toast)))
        shown = app.screen.query(Toast).first().region
        rows = range(shown.y, shown.bottom)

        assert rows
        assert app.screen.query_one(NextLine).region.y not in rows
        assert size[1] - 1 not in rows


_FORMS = (
    *("new_plan", "new_study", "gauge_form", "product_sheet", "class_hand"),
    *("new_calibration", "declaration_file", "details", "certificate", "by_sight"),
    *("class_predict", "rig", "runs", "batch", "declaration_number"),
)


@pytest.mark.long
@pytest.mark.parametrize("name", first_of(_FORMS))
async def test_nothing_that_stands_in_an_empty_field_can_be_taken_for_a_value(
    still: MakeApp, records: str, name: str
) -> None:
    SCENES[name].prepare(records)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await SCENES[name].open(pilot)
        await settled(pilot)
        found = [field.placeholder for field in app.screen.query(Input)]

    assert any(found)
    for text in filter(None, found):
        said = text.startswith(("e.g. ", "empty", "one of: "))
        assert said or (" " in text and not text[0].isdigit()), text


_LISTS = ("plans", "runs", "study", "calibration", "suppliers")


@pytest.mark.long
@pytest.mark.parametrize("name", first_of(_LISTS))
async def test_a_list_is_not_called_empty_while_it_is_read(
    still: MakeApp, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    go_on, asked = threading.Event(), threading.Event()
    opened = GapsweepApp.records

    def slowly(app: GapsweepApp) -> Store:
        asked.set()
        assert go_on.wait(PATIENCE_S)
        return opened(app)

    monkeypatch.setattr(GapsweepApp, "records", slowly)
    app = still()
    async with app.run_test(size=(80, 24)) as pilot:
        await at_screen(pilot, "Rig")
        await app.action_open_screen(name)
        # Not by `until`, which waits for whoever reads
        assert await asyncio.to_thread(asked.wait, PATIENCE_S)
        line = app.screen.query_one(NextLine)
        during = line.sentence
        go_on.set()
        await settled(pilot)

        assert "read" in during
        assert line.sentence != during
