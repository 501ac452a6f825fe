"""What every screen has from its frame: each event once, each handler once."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import rig.tui
from rig.tui.bench.sweeps_screen import SweepsScreen
from rig.tui.frame.framed_screen import FramedScreen
from rig.tui.inspector.inspection_screen import InspectionScreen
from rig.tui.inspector.lot_screen import LotScreen
from rig.tui.rig.rig_events import PortsListed, RigEvent
from rig.tui.technician.plan_day_screen import PlanDay
from tests.tui.conftest import MakeApp
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
