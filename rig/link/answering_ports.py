"""Which ports answer the greeting of a rig."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rig.errors import LinkError
from rig.link.link import Link
from rig.link.serial_port import SerialTransport, serial_ports

_PATIENCE_S = 3.0  # boards that restart when their port is opened need 2 s


@dataclass(frozen=True, slots=True, kw_only=True)
class PortAnswer:
    """A port and what it answered.

    Attributes:
        port: Name or URL of the port.
        description: What the system says of it; may be empty.
        answers: Whether a rig answered.
        rig: Name of the rig; None without an answer.
        simulated: Whether the rig is simulated; None without an answer.
        why_not: Why there was no answer; None with one.
    """

    port: str
    description: str
    answers: bool = False
    rig: str | None = None
    simulated: bool | None = None
    why_not: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PortAnswers:
    """Every port that was asked.

    Attributes:
        ports: Ports of this computer first, then the others.
    """

    ports: tuple[PortAnswer, ...]


def ask_ports(also: Iterable[str] = ()) -> PortAnswers:
    """Greet every serial port of this computer, and others.

    Opening a port restarts some boards.

    Args:
        also: Names or URLs of other ports.
    """
    known = [(port.name, port.description) for port in serial_ports()]
    asked = [*known, *((name, "") for name in also)]
    return PortAnswers(ports=tuple(_greeted(*port) for port in asked))


def _greeted(name: str, description: str) -> PortAnswer:
    try:
        link = Link(SerialTransport(name))
        try:
            traits = link.greet(_PATIENCE_S)
        finally:
            link.close()
    except LinkError as exc:
        return PortAnswer(port=name, description=description, why_not=str(exc))
    return PortAnswer(
        port=name,
        description=description,
        answers=True,
        rig=traits.rig_id,
        simulated=traits.simulated,
    )
