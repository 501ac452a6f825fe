"""Tries clauses on a subject, one after another; knows no port and no page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from firmware_protocol.conformance.clause import (
    Broken,
    Clause,
    Need,
    NotApplicable,
    Result,
    Verdict,
)
from firmware_protocol.conformance.clauses import CLAUSES
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import settle
from firmware_protocol.conformance.subject import Subject
from firmware_protocol.messages import FIRST_RATE_BITS_S, Ability, Control, State, Trait

_ABLE = {
    Need.TOUCH_PROBE: (Ability.TOUCH_PROBE, True),
    Need.NO_TOUCH_PROBE: (Ability.TOUCH_PROBE, False),
    Need.FAST_RATE: (Ability.FAST_RATE, True),
    Need.NO_FAST_RATE: (Ability.FAST_RATE, False),
    Need.SUPPLY_SENSE: (Ability.SUPPLY_SENSE, True),
    Need.NO_SUPPLY_SENSE: (Ability.SUPPLY_SENSE, False),
    Need.DRIVE_SENSE: (Ability.DRIVE_SENSE, True),
    Need.NO_DRIVE_SENSE: (Ability.DRIVE_SENSE, False),
    Need.ENABLE_OUTPUT: (Ability.ENABLE_OUTPUT, True),
    Need.NO_ENABLE_OUTPUT: (Ability.ENABLE_OUTPUT, False),
    Need.SETTINGS: (Ability.SETTINGS, True),
    Need.NO_SETTINGS: (Ability.SETTINGS, False),
    Need.SCALE: (Ability.SCALE, True),
    Need.NO_SCALE: (Ability.SCALE, False),
}
# Any bit of these traits
_FITTED = {
    Need.QUANTITIES: (Trait.QUANTITIES, -1, True),
    Need.NO_QUANTITIES: (Trait.QUANTITIES, -1, False),
    Need.SUPPLY_SWITCH: (Trait.CONTROLS, 1 << Control.SENSOR_SUPPLY, True),
    Need.NO_SUPPLY_SWITCH: (Trait.CONTROLS, 1 << Control.SENSOR_SUPPLY, False),
    Need.SUPPLY_VOLTAGE: (Trait.CONTROLS, 1 << Control.SUPPLY_VOLTAGE, True),
    Need.NO_SUPPLY_VOLTAGE: (Trait.CONTROLS, 1 << Control.SUPPLY_VOLTAGE, False),
}
NO_GREETING = "the controller does not answer the greeting"


def run(
    subject: Subject, *, moves: bool, clauses: Iterable[Clause] = CLAUSES
) -> Iterator[Result]:
    """Try clauses, and yield how each ended.

    Args:
        subject: What to try them on.
        moves: Whether the axis may be moved.
        clauses: Clauses to try; all by default.
    """
    host = Host(subject, moves=moves)
    for clause in clauses:
        yield _try(host, clause)


def _try(host: Host, clause: Clause) -> Result:
    try:
        host.begin()
        _fits(host, clause)
        clause.run(host)
        if host.flaws and Need.RATE not in clause.needs:
            raise Broken("sound lines only", "; ".join(host.flaws[:4]))
    except Broken as exc:
        asked = f" (last order: `{host.last_order}`)" if host.last_order else ""
        return Result(
            clause=clause,
            verdict=Verdict.FAILS,
            expected=exc.expected,
            came=exc.came + asked,
        )
    except NotApplicable as exc:
        return Result(clause=clause, verdict=Verdict.NOT_APPLICABLE, reason=str(exc))
    return Result(clause=clause, verdict=Verdict.CONFORMS)


def _fits(host: Host, clause: Clause) -> None:
    """Greet, and say why a clause cannot be tried.

    Raises:
        NotApplicable: It cannot.
    """
    subject = host.subject
    here: dict[Need, Callable[[], bool]] = {
        Need.MOVES: lambda: host.moves,
        Need.WORLD: lambda: subject.world is not None,
        Need.PATIENCE: lambda: subject.world is not None and subject.world.patient,
        Need.RATE: lambda: subject.set_rate(FIRST_RATE_BITS_S),
    }
    for need, given in here.items():
        if need in clause.needs and not given():
            raise NotApplicable(need.value)
    if clause.greets and not host.greet():
        raise NotApplicable(NO_GREETING)
    if clause.greets and host.look().state not in (State.RAW, State.UNFENCED):
        settle(host)
    for need, (ability, wanted) in _ABLE.items():
        if need in clause.needs and host.able(ability) is not wanted:
            raise NotApplicable(need.value)
    for need, (trait, bits, wanted) in _FITTED.items():
        if need in clause.needs and bool(host.trait(trait) & bits) is not wanted:
            raise NotApplicable(need.value)
