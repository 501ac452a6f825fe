"""The terminal UI with a run that is told at the pace of a real one: for a subprocess.

No rig is behind it: readings come twenty times a second, as a link lets them out, and a
sweep ends every two seconds. With `rest` as the second argument nothing moves.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import replace
from pathlib import Path

from rig.tui.app.app import GapsweepApp
from rig.tui.rig.rig_thread import RigThread
from rig.tui.state.situation import SweepRow
from tests.tui.situations import MOVING, SWEEPING

READING_S = 0.05
SWEEP_S = 2.0
_TRAVEL_MM = 3.0


class Motion:
    """Tells an app of a motion, and sends it straight to the sweeps."""

    def __init__(self, app: GapsweepApp, *, quiet: bool) -> None:
        self._app = app
        self._begun_s = time.monotonic()
        self._sweeps = 0
        app.situation, app.reading = SWEEPING, MOVING
        app.call_after_refresh(app.run_action, "open_screen('sweeps')")
        if quiet:
            app.situation = replace(SWEEPING, under_way=None, doing="")
        else:
            app.set_interval(READING_S, self._read)

    def _read(self) -> None:
        phase = (time.monotonic() - self._begun_s) / SWEEP_S
        gap_mm = 8.75 + 0.5 * _TRAVEL_MM * math.cos(2 * math.pi * phase)
        level = math.sin(2 * math.pi * phase) > 0 and gap_mm < 8.75
        self._app.reading = replace(
            MOVING, gap_mm=gap_mm, from_home_mm=30.0 - gap_mm, level=level
        )
        run = self._app.situation.run
        if run is not None and phase > self._sweeps + 1:
            self._sweeps += 1
            row = SweepRow(
                number=len(run.rows) + 1,
                speed_mm_s=1.0,
                operate_mm=7.998 + 0.0007 * (self._sweeps * 7 % 9),
                release_mm=9.405 + 0.0007 * (self._sweeps * 5 % 9),
                void="",
            )
            grown = replace(run, rows=(*run.rows, row), good=run.good + 1)
            self._app.situation = replace(self._app.situation, run=grown)


def main() -> None:
    """Run it; the folder for records and habits is the first argument."""
    folder, quiet = Path(sys.argv[1]), sys.argv[2] == "rest"
    begin = GapsweepApp.on_mount

    def on_mount(app: GapsweepApp) -> None:
        begin(app)
        Motion(app, quiet=quiet)

    # In their places: a subclass elsewhere would look for its style sheets there
    GapsweepApp.on_mount = on_mount
    GapsweepApp.link_age_s = lambda _: 0.0
    RigThread.start = lambda _: None
    GapsweepApp(records=str(folder / "r.sqlite"), memory=folder / "s.json").run()


if __name__ == "__main__":
    main()
