"""The wire between host and controller: bytes in, messages out.

Sans-I/O: no port, no clock, no thread. SPEC.md says what the bytes mean; table.toml is
the source of every word and number.
"""

from __future__ import annotations

from firmware_protocol.codec import (
    BadRequest,
    Incoming,
    Receiver,
    UnknownNotice,
    decode,
    encode,
)
from firmware_protocol.errors import (
    LocalProtocolError,
    ProtocolError,
    RemoteProtocolError,
)
from firmware_protocol.framing import StopMark

__all__ = [
    "BadRequest",
    "Incoming",
    "LocalProtocolError",
    "ProtocolError",
    "Receiver",
    "RemoteProtocolError",
    "StopMark",
    "UnknownNotice",
    "decode",
    "encode",
]
