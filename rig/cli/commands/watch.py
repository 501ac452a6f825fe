"""`gapsweep watch`: every input live, moving nothing."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from rig.cli.open_rig import open_rig
from rig.cli.options import example, json_option, rig_option
from rig.cli.output import say, say_document
from rig.cli.text.table import SIMULATED, table

if TYPE_CHECKING:
    from rig.model.watched_inputs import WatchedInputs


@click.command(epilog=example('gapsweep watch --rig "sim://?pace=fast" --seconds 5'))
@rig_option
@click.option(
    "--seconds",
    "longest_s",
    type=click.FloatRange(min=0.0, min_open=True),
    metavar="S",
    help="Exit after this many seconds.  [default: at Ctrl-C]",
)
@json_option
def command(rig_name: str, longest_s: float | None, as_json: bool) -> None:
    """Show every input live, and move nothing.

    For wiring and the first power-up: it needs no homing, no motor and no sensor, and
    orders no motion. Close and open each contact by hand, pull off its wire, press the
    emergency stop, and see what the controller sees. If the output is not a terminal,
    each change is printed on a line of its own. Ctrl-C sends the stop byte and exits
    with status 0.
    """
    # Deferred: help must answer at once
    from rig.procedures.input_watch import watch_inputs
    from rig.wiring import at_real_pace

    with open_rig(at_real_pace(rig_name)) as rig:
        views = watch_inputs(rig.mover.link, rig.mover.traits, longest_s=longest_s)
        if as_json:
            say_document("watch", _last_of(views))
        elif sys.stdout.isatty():
            _show_live(views)
        else:
            _say_lines(views)


def _last_of(views: Iterator[WatchedInputs]) -> WatchedInputs:
    seen = next(views)
    for seen in views:  # noqa: B007 - the last one is what is wanted
        pass
    return seen


def _show_live(views: Iterator[WatchedInputs]) -> None:
    from rich.console import Console
    from rich.live import Live
    from rich.text import Text

    from rig.sheets.watch_sheet import NOTHING_MOVES

    with Live(console=Console(highlight=False), auto_refresh=False) as live:
        for seen in views:
            live.update(Text(f"{_picture(seen)}\n{NOTHING_MOVES}"), refresh=True)


def _say_lines(views: Iterator[WatchedInputs]) -> None:
    from rig.sheets.watch_sheet import change_lines

    before = next(views)
    say(_picture(before))
    for now in views:
        for line in change_lines(before, now):
            say(line)
        before = now


def _picture(seen: WatchedInputs) -> str:
    from rig.model.plain_text import shown
    from rig.sheets.watch_sheet import WATCH_HEAD, watch_rows, watch_sentences

    marked = [SIMULATED] if seen.simulated else []
    lines = [*marked, *watch_sentences(seen), table(WATCH_HEAD, watch_rows(seen))]
    return shown("\n".join(lines))
