"""One tree of errors, each with what to do next and the exit status it leads to."""

from __future__ import annotations


class RigError(Exception):
    """Anything that ends a command with one sentence for the user.

    Attributes:
        hint: What would be right, or what to do next; may be empty.
        exit_status: Status that the command line leaves with.
    """

    exit_status = 1

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


class InputError(RigError):
    """What the user gave is not usable: a file, a field, a name, a number."""

    exit_status = 2


class NoFigures(InputError):
    """A run is to be used that has no figures."""

    def __init__(self, run_id: str) -> None:
        super().__init__(
            f"run {run_id} has no figures",
            hint=f"`gapsweep recompute {run_id}` works them out",
        )


class Implausible(InputError):
    """What was typed is hardly meant so; whoever typed it can say that it is."""

    def __init__(self, message: str) -> None:
        super().__init__(
            message,
            hint="correct it, or give --sure if it is meant so: nothing is kept",
        )


class LinkError(RigError):
    """The rig, its port or its controller does not do what was asked."""

    exit_status = 3


class PortNotFound(LinkError):
    """No such port, or it cannot be opened."""


class PortBusy(LinkError):
    """Another program holds the port."""


class ReplyTimeout(LinkError):
    """The controller did not answer in time."""


class LinkLost(LinkError):
    """The port went away while in use."""


class NotARig(LinkError):
    """Something answers on the port, but not in our protocol."""


class RigImplausible(LinkError):
    """What a controller says of its rig cannot be meant."""


class RigChanged(LinkError):
    """A rig is not as it is known, and nobody has confirmed that it changed."""


class ProtocolTooNew(LinkError):
    """The controller speaks a later major version of the protocol."""


class RigRestarted(LinkError):
    """The controller restarted: its datum and home are gone."""


class RigTaken(LinkError):
    """The controller takes no orders of this session any more."""


class RequestRefused(LinkError):
    """The controller refused a request.

    Attributes:
        code: Error number of the protocol.
        argument: Number of the argument at fault, from 1; 0 for none.
    """

    def __init__(
        self, message: str, *, code: int, argument: int, hint: str = ""
    ) -> None:
        super().__init__(message, hint=hint)
        self.code = code
        self.argument = argument


class MotionFault(LinkError):
    """A motion ended in a way that the procedure cannot use."""


class HostUnheard(MotionFault):
    """The controller heard nothing from here and stopped the axis."""


class NoticesLost(MotionFault):
    """What the controller told of a motion was lost on the way, for good."""


class HomeFault(MotionFault):
    """Home switch or touch probe do not do what homing needs."""


class StepsMissed(MotionFault):
    """The home switch closed where no step count puts it."""


class SupplyGone(MotionFault):
    """The sensor's supply is gone."""


class MotionDoubted(MotionFault):
    """What the controller tells of a motion does not fit what was ordered."""


class MotionOverdue(MotionFault):
    """A motion did not end in the time that it can take; it was stopped."""


class ProbeContact(MotionFault):
    """The touch probe closed in a motion that should not reach it."""


class Stopped(LinkError):
    """Motion was stopped, by the user, by the dead-man or by a fault."""


class BenchError(LinkError):
    """The bench does not allow the measurement: stroke, sensor, wiring."""


class RecordsError(RigError):
    """The records cannot be read or written."""

    exit_status = 4


class RunChanged(RecordsError):
    """A run on record is not as it was written, and nothing is made of it."""

    def __init__(self, message: str) -> None:
        super().__init__(
            message,
            hint="nothing is made of it; `gapsweep verify` says all that was changed,"
            " `gapsweep show` what is there, and a backup from before has it unaltered",
        )


class NoRecords(RecordsError):
    """Nothing has been put on record there yet."""
