"""What a clause is, and the three ways it can end."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from firmware_protocol.conformance.host import Host


class Need(Enum):
    """What a clause cannot be tried without; the value is said where it is missing."""

    MOVES = "needs leave to move the axis"
    WORLD = "needs a hand at the inputs and an eye on the pulses"
    PATIENCE = "needs a world whose time passes as fast as it is asked to"
    RATE = "needs a link with a rate"
    TOUCH_PROBE = "the controller has no touch probe"
    NO_TOUCH_PROBE = "the controller has a touch probe"
    FAST_RATE = "the controller has the first rate only"
    NO_FAST_RATE = "the controller has the fast rate"
    SUPPLY_SENSE = "the controller does not watch the supply"
    NO_SUPPLY_SENSE = "the controller watches the supply"
    DRIVE_SENSE = "the controller does not watch the motor's drive"
    NO_DRIVE_SENSE = "the controller watches the motor's drive"
    ENABLE_OUTPUT = "the controller cannot take the motor's current away"
    NO_ENABLE_OUTPUT = "the controller can take the motor's current away"
    SETTINGS = "the controller keeps no settings"
    NO_SETTINGS = "the controller keeps settings"
    QUANTITIES = "the controller measures no quantity"
    NO_QUANTITIES = "the controller measures quantities"
    SUPPLY_SWITCH = "the controller cannot switch the sensor's supply"
    NO_SUPPLY_SWITCH = "the controller can switch the sensor's supply"
    SUPPLY_VOLTAGE = "the controller cannot set the supply's voltage"
    NO_SUPPLY_VOLTAGE = "the controller can set the supply's voltage"
    SCALE = "the controller counts no scale"
    NO_SCALE = "the controller counts a scale"


class Verdict(StrEnum):
    """How a clause ended."""

    CONFORMS = "conforms"
    FAILS = "does not conform"
    NOT_APPLICABLE = "not applicable"


class Broken(Exception):
    """The controller did something else than the clause asks for.

    Attributes:
        expected: What the clause asks for.
        came: What came instead.
    """

    def __init__(self, expected: str, came: str) -> None:
        super().__init__(f"expected {expected}; came {came}")
        self.expected = expected
        self.came = came


class NotApplicable(Exception):
    """The clause cannot be tried here; the text says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clause:
    """One rule that can be tried.

    Attributes:
        id: Section of SPEC.md, and a number within it.
        claim: What a controller that conforms does.
        needs: What it takes to try.
        greets: Whether a `hail` comes first.
        run: Tries it; raises Broken or NotApplicable.
    """

    id: str
    claim: str
    needs: frozenset[Need]
    greets: bool
    run: Callable[[Host], None]

    @property
    def section(self) -> str:
        """Section of SPEC.md."""
        return self.id.partition(".")[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """How one clause ended.

    Attributes:
        clause: The clause.
        verdict: How.
        expected: What was asked for, where it does not conform.
        came: What came.
        reason: Why it is not applicable.
    """

    clause: Clause
    verdict: Verdict
    expected: str = ""
    came: str = ""
    reason: str = ""


class Chapter:
    """Collects the clauses of one module in the order in which they stand there."""

    def __init__(self) -> None:
        self.clauses: list[Clause] = []

    def clause(
        self, clause_id: str, claim: str, *needs: Need, greets: bool = True
    ) -> Callable[[Callable[[Host], None]], Callable[[Host], None]]:
        """Make a clause of a function."""

        def take(run: Callable[[Host], None]) -> Callable[[Host], None]:
            self.clauses.append(
                Clause(
                    id=clause_id,
                    claim=claim,
                    needs=frozenset(needs),
                    greets=greets,
                    run=run,
                )
            )
            return run

        return take
