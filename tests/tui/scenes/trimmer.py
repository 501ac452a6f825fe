"""The help with setting a trimmer."""

from __future__ import annotations

from dataclasses import replace

from textual.pilot import Pilot

from rig.procedures.trimmer_guide import Screw, TrimmerAdvice, TrimmerCheck, Turn
from rig.tui.rig.rig_events import ProcedureReported
from rig.tui.trimmer.trimmer_job import SetTrimmer
from tests.tui.conftest import at_screen
from tests.tui.scenes.scene import Scene, situate
from tests.tui.situations import CHECKED, READY

_ADVICE = TrimmerAdvice(
    wanted_mm=8.0,
    operated=False,
    turn=Turn.MORE,
    screw=None,
    turns_about=None,
    confirm=False,
    settled=False,
    check=None,
    sentence="Turn until the output just operates, then stop. That is more sensitive; "
    "which way to turn is not known yet.",
)
_CHECK = TrimmerCheck(operate_mm=8.214, range_mm=0.002, n=3)


def _advised(advice: TrimmerAdvice) -> Scene:
    async def open(pilot: Pilot[None]) -> None:
        job = SetTrimmer(wanted_mm=8.0)
        holding = "holding the target at 8 mm"
        await situate(
            pilot,
            replace(CHECKED, under_way=job, doing=holding),
            replace(READY, gap_mm=8.0, level=advice.operated),
        )
        await pilot.app.run_action("app.open_screen('trimmer')")
        await at_screen(pilot, "Set trimmer")
        pilot.app.rig_events.publish(ProcedureReported(event=advice))

    return Scene(open=open)


SCENES = {
    "trimmer_more": _advised(_ADVICE),
    "trimmer_less": _advised(
        replace(
            _ADVICE,
            operated=True,
            turn=Turn.LESS,
            screw=Screw.ANTICLOCKWISE,
            check=_CHECK,
            sentence="It operates 0.21 mm too far out. Turn a little, hands clear, "
            "then check; or turn until it releases, and back. That is less sensitive: "
            "anticlockwise, about 4.2 turns like those before.",
        )
    ),
    "trimmer_set": _advised(
        replace(
            _ADVICE,
            operated=True,
            turn=Turn.LEAVE,
            settled=True,
            check=replace(_CHECK, operate_mm=8.014),
            sentence="The output operates at the wanted gap. Lock the screw, hands "
            "clear, then check once more.",
        )
    ),
}
