"""Errors of the protocol: ours, or the peer's."""

from __future__ import annotations


class ProtocolError(Exception):
    """Something breaks the protocol; raised as one of the two kinds below."""


class LocalProtocolError(ProtocolError):
    """This side was about to send what the protocol does not allow."""


class RemoteProtocolError(ProtocolError):
    """The other side sent what the protocol does not allow."""
