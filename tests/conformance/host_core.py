"""The C core in its host build, in this process."""

from __future__ import annotations

from firmware_protocol.conformance.controllers.bench import Bench, build
from firmware_protocol.messages import Ability, Control, Quantity

EVERYTHING = (
    Ability.FAST_RATE
    | Ability.TOUCH_PROBE
    | Ability.SUPPLY_SENSE
    | Ability.DRIVE_SENSE
    | Ability.ENABLE_OUTPUT
    | Ability.SIMULATED
    | Ability.SETTINGS
    | Ability.SCALE
)
ALL_QUANTITIES = sum(1 << quantity for quantity in Quantity)
ALL_CONTROLS = sum(1 << control for control in Control)


class HostCore(Bench):
    """The core as a shared library; needs `make` and a C compiler.

    Attributes:
        name: What reports call it.
        library: Target of the Makefile.
    """

    name = "host core"

    library = "libhost_core.so"

    def __init__(
        self,
        abilities: Ability = EVERYTHING,
        quantities: int = ALL_QUANTITIES,
        controls: int = ALL_CONTROLS,
    ) -> None:
        library = build(self.library)
        super().__init__(library, None, int(abilities), quantities, controls)


class HostWide(HostCore):
    """The core with a step timer of 32 bits."""

    name = "host core, 32 bits"
    library = "libhost_wide.so"
