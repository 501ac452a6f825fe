"""Watches every input of a controller, and moves nothing."""

from __future__ import annotations

from collections.abc import Iterator

from firmware_protocol.messages import (
    Ability,
    EdgeNotice,
    Fault,
    FaultNotice,
    Input,
    LookAnswer,
    Source,
    State,
    TallyAnswer,
    TallyRequest,
)
from rig.errors import BenchError
from rig.link.inbox import Delivery, LostNotice
from rig.link.link import Link
from rig.link.traits import RigTraits
from rig.model.watched_inputs import INPUT_NAMES, WatchedInput, WatchedInputs

_LOOK_EVERY_S = 0.1
# Changes of these are told at once; those of the others show by looking
_TOLD = {Source.OUT: Input.OUT, Source.PROBE: Input.PROBE}
_NEEDED = {
    Input.PROBE: Ability.TOUCH_PROBE,
    Input.SUPPLY: Ability.SUPPLY_SENSE,
    Input.DRIVE: Ability.DRIVE_SENSE,
}


def watch_inputs(
    link: Link, traits: RigTraits, *, longest_s: float | None
) -> Iterator[WatchedInputs]:
    """Yield the inputs several times a second; ends when stop is asked for.

    Nothing is ordered but looks, so it works before the first homing, with the motor
    without power, and in every state.

    Args:
        link: Link to the controller, greeted.
        traits: What it said of itself.
        longest_s: When to end, s; None goes on until stop is asked for.

    Raises:
        BenchError: The axis moves; it was stopped.
        LinkError: The link failed, or the controller restarted.
    """
    watch = _Watch(link, traits)
    while True:
        yield watch.look()
        if link.stop_asked or (longest_s is not None and watch.age_s >= longest_s):
            return
        watch.wait(_LOOK_EVERY_S)


class _Watch:
    """What has been seen so far."""

    def __init__(self, link: Link, traits: RigTraits) -> None:
        self._link = link
        self._traits = traits
        self._begun_s = link.now_s()
        self._inputs: Input | None = None
        self._changes = dict.fromkeys(INPUT_NAMES, 0)
        self._changed_s: dict[Input, float] = {}
        self._fault = link.request(TallyRequest, TallyAnswer).fault
        self._lost = 0

    @property
    def age_s(self) -> float:
        """How long it has gone on."""
        return self._link.now_s() - self._begun_s

    def look(self) -> WatchedInputs:
        """Return the inputs as they are now.

        Raises:
            BenchError: The axis moves; it was stopped.
        """
        look = self._link.look()
        if look.state in (State.MOVING, State.SEEKING):
            # Whoever ordered that is not here, and every look would keep it going
            self._link.halt()
            raise BenchError(
                "the axis was in motion, though nothing here had ordered it: it was"
                " stopped",
                hint="close whatever else drives this rig, then begin again",
            )
        self._take_levels(Input(look.inputs))
        return self._seen(look)

    def wait(self, duration_s: float) -> None:
        """Take the changes that are told meanwhile."""
        until_s = self._link.now_s() + duration_s
        while (left_s := until_s - self._link.now_s()) > 0:
            notice = self._link.next_notice(left_s)
            if notice is not None:
                self._take(notice)

    def _take(self, notice: Delivery) -> None:
        if isinstance(notice, EdgeNotice) and notice.source in _TOLD:
            self._count(_TOLD[notice.source])
        elif isinstance(notice, FaultNotice):
            self._fault = notice.fault
        elif isinstance(notice, LostNotice):
            self._lost += 1

    def _take_levels(self, inputs: Input) -> None:
        before, self._inputs = self._inputs, inputs
        if before is None:
            return
        for each in set(INPUT_NAMES) - set(_TOLD.values()):
            if each & before != each & inputs:
                self._count(each)

    def _count(self, which: Input) -> None:
        self._changes[which] += 1
        self._changed_s[which] = self.age_s

    def _seen(self, look: LookAnswer) -> WatchedInputs:
        traits = self._traits
        return WatchedInputs(
            simulated=traits.simulated,
            rig_id=traits.rig_id,
            state=look.state.value,
            position_steps=look.position,
            fault=_fault_name(self._fault),
            probe_proven=bool(Input.PROBE_SEEN & look.inputs),
            inputs=tuple(self._input(each, Input(look.inputs)) for each in INPUT_NAMES),
            lost_notices=self._lost,
            watched_s=self.age_s,
        )

    def _input(self, which: Input, inputs: Input) -> WatchedInput:
        traits = self._traits
        needed = _NEEDED.get(which)
        fitted = needed is None or needed in traits.abilities
        stops = fitted and which is not Input.OUT
        return WatchedInput(
            name=INPUT_NAMES[which],
            active=which in inputs if fitted else None,
            fail_safe=which in traits.fail_safe if stops else None,
            changes=self._changes[which],
            changed_s=self._changed_s.get(which),
        )


def _fault_name(number: int) -> str:
    if not number:
        return ""
    try:
        return Fault(number).name.lower().replace("_", " ")
    except ValueError:
        return f"number {number}"
