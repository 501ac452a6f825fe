"""Inputs of a controller as somebody watches them who moves nothing."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_protocol.messages import Input

INPUT_NAMES = {
    Input.OUT: "sensor's output",
    Input.PROBE: "touch probe",
    Input.HOME: "home switch",
    Input.SUPPLY: "sensor's supply",
    Input.DRIVE: "motor's drive",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedInput:
    """One input.

    Attributes:
        name: What it is.
        active: Whether it is 1: the output on, the probe touching, the home switch at
            its place, supply and drive there. None: it is not fitted or not watched.
        fail_safe: Whether a broken wire reads as the level that stops the axis; None
            where no level of it does.
        changes: How often it changed while it was watched.
        changed_s: When it changed last, s after the watch began; None if it did not.
    """

    name: str
    active: bool | None
    fail_safe: bool | None
    changes: int
    changed_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchedInputs:
    """All inputs at one moment.

    Attributes:
        simulated: Whether the rig is simulated.
        rig_id: Identity of the rig.
        state: State of the controller, in the word of the wire.
        position_steps: Step count of the controller.
        fault: Name of the last fault since the controller started; empty for none.
        probe_proven: Whether the touch probe has changed since then.
        inputs: The inputs.
        lost_notices: Changes of which word was lost on the way.
        watched_s: How long it has been watched, s.
    """

    simulated: bool
    rig_id: str
    state: str
    position_steps: int
    fault: str
    probe_proven: bool
    inputs: tuple[WatchedInput, ...]
    lost_notices: int
    watched_s: float
