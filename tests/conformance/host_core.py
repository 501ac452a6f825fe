"""The C core in its host build, in this process."""

from __future__ import annotations

from firmware_protocol.conformance.controllers.bench import Bench, build
from firmware_protocol.messages import Ability

EVERYTHING = (
    Ability.FAST_RATE
    | Ability.TOUCH_PROBE
    | Ability.SUPPLY_SENSE
    | Ability.DRIVE_SENSE
    | Ability.ENABLE_OUTPUT
    | Ability.SIMULATED
    | Ability.SETTINGS
)


class HostCore(Bench):
    """The core as a shared library; needs `make` and a C compiler.

    Attributes:
        name: What reports call it.
        library: Target of the Makefile.
    """

    name = "host core"

    library = "libhost_core.so"

    def __init__(self, abilities: Ability = EVERYTHING) -> None:
        super().__init__(build(self.library), None, int(abilities))


class HostWide(HostCore):
    """The core with a step timer of 32 bits."""

    name = "host core, 32 bits"
    library = "libhost_wide.so"
