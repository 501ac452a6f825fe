"""`gapsweep rigs`: serial ports, and which of them answer the greeting."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from rig.cli.options import example, json_option
from rig.cli.output import say, say_document
from rig.cli.text.table import table

if TYPE_CHECKING:
    from rig.link.answering_ports import PortAnswer


@click.command(
    epilog=example("gapsweep rigs --also socket://127.0.0.1:7878"),
)
@click.option(
    "--also", multiple=True, metavar="PORT", help="One more port or URL to ask."
)
@json_option
def command(also: tuple[str, ...], as_json: bool) -> None:
    """List serial ports and which of them answer as rigs.

    Opening a port restarts some boards: do not run this during a measurement.
    """
    # Deferred: help must answer at once
    from rig.link.answering_ports import ask_ports

    found = ask_ports(also)
    if as_json:
        say_document("rigs", found)
        return
    if not found.ports:
        say("No serial ports. The simulated rig is always there: --rig sim://")
        return
    rows = [
        [port.port, "yes" if port.answers else "no", _rig_words(port), port.description]
        for port in found.ports
    ]
    say(table(["port", "answers", "rig", "description"], rows))


def _rig_words(port: PortAnswer) -> str:
    if port.rig is None:
        return port.why_not or ""
    return f"{port.rig} (SIMULATED)" if port.simulated else port.rig
