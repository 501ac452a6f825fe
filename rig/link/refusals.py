"""Refusals of the controller in words for the user."""

from __future__ import annotations

from firmware_protocol.messages import ErrorCode, HomeRequest, Refusal, Request

_SENTENCES: dict[int, tuple[str, str]] = {
    ErrorCode.UNKNOWN_VERB: ("does not know it", "its firmware may be older"),
    ErrorCode.WRONG_COUNT: ("expects other arguments", "its firmware may be older"),
    ErrorCode.BAD_ARGUMENT: ("finds an argument out of range", ""),
    ErrorCode.NOT_HOMED: ("is not homed", "home it first: `gapsweep check`"),
    ErrorCode.NO_FENCE: ("has no soft limits", "home it first: `gapsweep check`"),
    ErrorCode.BUSY: ("is moving", "wait for it to come to rest"),
    ErrorCode.HELD: (
        "is held after a stop or a fault",
        "clear the cause and begin again",
    ),
    ErrorCode.BEYOND_FENCE: ("finds the position outside its limits", ""),
    ErrorCode.NOT_ABLE: ("is not able to do it", "this rig lacks that ability"),
    ErrorCode.PROBE_CLOSED: (
        "finds the touch probe closed already",
        "check the probe and its wiring",
    ),
    ErrorCode.DRIVE_OFF: (
        "finds the motor's drive off",
        "release the emergency stop, switch the motor's supply on, and see what the"
        " driver reports",
    ),
    ErrorCode.TOO_FAST: ("finds it too fast", "ask for a lower speed"),
}

# Where a request has its own reason for an error
_OF_REQUEST: dict[tuple[int, type[Request]], tuple[str, str]] = {
    (ErrorCode.PROBE_CLOSED, HomeRequest): (
        "finds the touch probe and the home switch both closed, and would begin toward"
        " the face",
        "only one of them can be: check both and their wiring; if the target stands"
        " against the face, take the motor's power off and turn it away by hand",
    ),
}


def refusal_sentence(refusal: Refusal, message: Request) -> tuple[str, str]:
    """Return what was refused and why, and what to do."""
    unknown = (f"gives error {refusal.error}", "")
    general = _SENTENCES.get(refusal.error, unknown)
    why, hint = _OF_REQUEST.get((refusal.error, type(message)), general)
    return f"the rig refuses `{message.WORD}`: it {why}", hint
