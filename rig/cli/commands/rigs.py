"""`gapsweep rigs`: serial ports, and which of them answer the greeting."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import click

from rig.cli.documents import emit
from rig.cli.options import example, json_option
from rig.cli.output import say
from rig.cli.text.table import table
from rig.errors import LinkError

_PATIENCE_S = 3.0  # boards that restart when their port is opened need 2 s


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
    from rig.link.serial_port import serial_ports

    ports = {port.name: port.description for port in serial_ports()}
    found = [
        _asked(name, description)
        for name, description in [*ports.items(), *((name, "") for name in also)]
    ]
    if as_json:
        emit({"ports": [asdict(port) for port in found]})
        return
    if not found:
        say("No serial ports. The simulated rig is always there: --rig sim://")
        return
    rows = [
        [
            port.port,
            "yes" if port.answers else "no",
            _rig_words(port),
            port.description,
        ]
        for port in found
    ]
    say(table(["port", "answers", "rig", "description"], rows))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    port: str
    description: str
    answers: bool = False
    rig: str | None = None
    simulated: bool | None = None
    why_not: str | None = None


def _rig_words(port: _Asked) -> str:
    if port.rig is None:
        return port.why_not or ""
    return f"{port.rig} (SIMULATED)" if port.simulated else port.rig


def _asked(name: str, description: str) -> _Asked:
    from rig.link.link import Link
    from rig.link.serial_port import SerialTransport

    try:
        link = Link(SerialTransport(name))
        try:
            traits = link.greet(_PATIENCE_S)
        finally:
            link.close()
    except LinkError as exc:
        return _Asked(port=name, description=description, why_not=str(exc))
    return _Asked(
        port=name,
        description=description,
        answers=True,
        rig=traits.rig_id,
        simulated=traits.simulated,
    )
