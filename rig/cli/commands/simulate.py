"""`gapsweep simulate`: a simulated rig for other clients."""

from __future__ import annotations

import click

from rig.cli.options import example
from rig.cli.output import say, say_on_stderr
from rig.wiring import serve_simulated


@click.command(epilog=example('gapsweep simulate "sim://?sensor=inductive" --tcp 7878'))
@click.argument("rig_name", metavar="[SIM-NAME]", default="sim://")
@click.option(
    "--tcp",
    "tcp_port",
    type=click.IntRange(0, 65535),
    metavar="PORT",
    help="Serve on this TCP port of the loopback address; 0 takes a free one.",
)
def command(rig_name: str, tcp_port: int | None) -> None:
    """Serve a simulated rig at real pace, on a pseudo-terminal or a TCP port.

    It runs until Ctrl-C. What is measured on it says SIMULATED everywhere.
    """
    try:
        serve_simulated(rig_name, tcp_port=tcp_port, announce=_announce)
    except KeyboardInterrupt:
        say_on_stderr("no longer served")


def _announce(where: str) -> None:
    # Words first: whoever waits for the name may end this as soon as it has come
    say_on_stderr(f"SIMULATED rig ready: use --rig {where}; Ctrl-C ends it")
    say(where)
