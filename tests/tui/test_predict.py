"""That the answer stays hidden until people have predicted."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.pilot import Pilot

from rig.tui.rig.rig_events import Done
from tests.tui.conftest import MakeApp
from tests.tui.pending import settled
from tests.tui.scenes import SCENES
from tests.tui.situations import CATALOGUE, ENDED, SWEEPING

pytestmark = pytest.mark.long

_HIDDEN = "Measured: hidden until everybody has predicted."


def _finding(pilot: Pilot[None]) -> str:
    return str(pilot.app.screen.query_one("#finding").render())


async def test_a_run_from_before_is_not_shown_to_those_who_predict(
    still: MakeApp, records: str
) -> None:
    SCENES["class_predict"].prepare(records)
    async with still().run_test(size=(120, 40)) as pilot:
        await SCENES["class_predict"].open(pilot)
        await pilot.press("escape")
        assert _finding(pilot) == _HIDDEN

        await pilot.press("v")
        await settled(pilot)
        assert "Measured operate point: (8.0" in _finding(pilot)

        # What was shown of one target stays hidden for the next
        other = replace(pilot.app.situation, target=CATALOGUE.target("pvc"))
        pilot.app.situation = other
        await settled(pilot)
        assert _finding(pilot) == _HIDDEN


async def test_what_is_measured_here_is_shown_when_it_has_ended(
    still: MakeApp, records: str
) -> None:
    SCENES["class_predict"].prepare(records)
    async with still().run_test(size=(120, 40)) as pilot:
        await SCENES["class_predict"].open(pilot)
        pilot.app.situation = SWEEPING
        pilot.app.situation = ENDED
        pilot.app.screen.hear(Done(job=SWEEPING.under_way))
        await settled(pilot)

        assert "Measured operate point: (8.0" in _finding(pilot)
