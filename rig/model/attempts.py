"""How attempts to measure end: with figures, or with a named outcome and its causes."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from rig.model.mounted import Sensor, Target
from rig.model.product import ProductVersion


class Outcome(StrEnum):
    """How an attempt to measure ended."""

    FIGURES = "figures"
    ROUND_TAKEN = "round taken"
    NEVER_SWITCHES = "never switches"
    ALWAYS_ON = "always on"
    NEVER_RELEASES = "never releases"
    CHATTER = "chatter"
    INVERTED = "inverted output"
    OUTPUT_LOST = "output lost"
    EDGE_MISSING = "edge missing"
    SUPPLY_GONE = "supply gone"
    STEPS_LOST = "steps lost"
    DATUM_MOVED = "datum moved"
    NOT_HOMED = "not homed"
    RIG_FAULT = "rig fault"
    NOT_MEASURABLE = "not measurable"
    STOPPED = "stopped by hand"
    LINK_LOST = "link lost"
    INTERRUPTED = "interrupted"

    @property
    def fails(self) -> bool:
        """Whether the sensor failed at its function, on a target that it must see."""
        return self in _FAILS

    @property
    def of_the_sensor(self) -> bool:
        """Whether the sensor or its wiring gave it, and not the rig or a person.

        Such an outcome counts before earlier figures of the same part.
        """
        return self in _OF_THE_SENSOR

    @property
    def recurs(self) -> bool:
        """Whether the same sensor and target would give it again.

        A plan goes on past it; a supply that is gone would end every pair to come.
        """
        return self.of_the_sensor and self is not Outcome.SUPPLY_GONE


_FAILS = frozenset(
    {
        Outcome.NEVER_SWITCHES,
        Outcome.ALWAYS_ON,
        Outcome.NEVER_RELEASES,
        Outcome.CHATTER,
    }
)
# A short circuit in the sensor pulls its supply down too, so that counts here
_OF_THE_SENSOR = _FAILS | {
    Outcome.INVERTED,
    Outcome.OUTPUT_LOST,
    Outcome.EDGE_MISSING,
    Outcome.SUPPLY_GONE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptEnd:
    """How one attempt ended.

    Attributes:
        outcome: Outcome by its name.
        sentence: What was seen, in words; for figures only why the run ended as it did.
        causes: Likely causes or what to do, in words; empty for figures.
        ended_at: When, UTC.
    """

    outcome: Outcome
    sentence: str
    causes: str
    ended_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One attempt to measure a sensor against a target, from the touch-off on.

    Attributes:
        run_id: Identity that its run has, if it came to one; a run that is resumed has
            several attempts.
        index: Counts the attempts of that run, from 0.
        sensor: What was to be measured.
        target: Against what.
        sweeps_wanted: Number of good sweeps asked for.
        simulated: Whether the rig said that it is simulated.
        rig_id: Identity of the rig.
        started_at: When it began, UTC.
        plan_id: The plan that it belongs to; empty for none.
        plan_item: Index in the plan; -1 for none.
        part: Serial or sample number of the sensor; empty if nobody gave it.
        operator: Who answers for it; may be empty.
        note: Free text; may be empty.
        product: Product that the part should be; None if nobody named one.
        end: How it ended; None as long as it has not, and for ever if it was cut short.
        sequence: Place in the order in which runs and attempts were put on record; 0
            before it is, and in earlier records.
    """

    run_id: str
    index: int
    sensor: Sensor
    target: Target
    sweeps_wanted: int
    simulated: bool
    rig_id: str
    started_at: datetime
    plan_id: str = ""
    plan_item: int = -1
    part: str = ""
    operator: str = ""
    note: str = ""
    product: ProductVersion | None = None
    end: AttemptEnd | None = None
    sequence: int = field(default=0, compare=False)
