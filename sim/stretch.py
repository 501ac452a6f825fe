"""One stretch of motion in one direction: what each step does.

Tells where a step takes the carriage and which inputs change at it. Knows no time:
a look of the sensor belongs to a step, not to an instant. Steps are counted from 1;
what they do is worked out in chunks, as far as it is asked for.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from firmware_protocol.messages import Source
from sim.sensors.response import Response

FloatArray = npt.NDArray[np.float64]

CHUNK_STEPS: Final = 2048
# The generator's normal deviates end near 14: further off, noise decides nothing,
# and each chunk has a stream of its own, so that leaving one out moves no other.
NOISE_REACH: Final = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """An input, or the sensor itself, changes at a step.

    Attributes:
        step: Step of the stretch, from 1.
        source: Input that changes; `OUT` stands for the sensor, ahead of its delay.
        level: Closed or operated.
    """

    step: int
    source: Source
    level: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchSetup:
    """Everything that is fixed while a stretch lasts.

    Places are in mm from where the home switch closes, growing toward the face.

    Attributes:
        direction: 1 toward the face, -1 away from it.
        motor_steps: Where the motor begins.
        carriage_mm: Where the carriage begins.
        lost_steps: Steps that the motor loses as it begins.
        steps_per_mm: Scale that the controller states.
        scale: Length travelled over the one that the controller states.
        play_mm: Lost motion on reversal, at the face.
        play_per_mm: How much more of it there is for each mm away from the face.
        screw_mm: Amplitude of the screw's periodic error.
        screw_phase_rad: Phase of the screw's periodic error at 0.
        screw_second_mm: Amplitude of its second harmonic.
        screw_second_phase_rad: Phase of that at 0.
        screw_lead_mm: Period of the screw's periodic error.
        face_mm: Where the face is.
        hard_mm: Where the face stops the carriage and the motor stalls.
        cos_tilt: Change of the gap for a mm of travel.
        probe_mm: Position from which on the probe's contact is closed.
        probe_hysteresis_mm: How much farther from the face it opens again.
        home_mm: Position up to which the home switch is closed.
        home_sticks: The home switch does not open.
        contact_closed: Whether the probe's contact is closed to begin with.
        home_closed: Level to begin with.
        operated: State of the sensor to begin with.
        response: Signal over gap; None for a sensor that does not change.
        noise: Standard deviation of a look's noise, of the signal.
        offset: Offset of this sweep, of the signal.
        reach: Factor on the distances at which the sensor sees.
        look_phase: When in the interval between two steps the sensor looks, 0 to 1.
        noise_stream: Random numbers of each chunk.
    """

    direction: int
    motor_steps: int
    carriage_mm: float
    lost_steps: int
    steps_per_mm: int
    scale: float
    play_mm: float
    play_per_mm: float
    screw_mm: float
    screw_phase_rad: float
    screw_second_mm: float
    screw_second_phase_rad: float
    screw_lead_mm: float
    face_mm: float
    hard_mm: float
    cos_tilt: float
    probe_mm: float
    probe_hysteresis_mm: float
    home_mm: float
    home_sticks: bool
    contact_closed: bool
    home_closed: bool
    operated: bool
    response: Response | None
    noise: float
    offset: float
    reach: float
    look_phase: float
    noise_stream: Callable[[int], np.random.Generator]


class Stretch:
    """What the steps of one stretch do, in order.

    Attributes:
        setup: What is fixed.
    """

    def __init__(self, setup: StretchSetup) -> None:
        self.setup = setup
        self._chunks = 0
        self._waiting: deque[Change] = deque()
        self._probe = setup.contact_closed
        self._home = setup.home_closed
        self._operated = setup.operated

    def next_change(self, last_step: int) -> Change | None:
        """Return the next change up to a step, without taking it."""
        while not self._waiting and self._chunks * CHUNK_STEPS < last_step:
            self._scan()
        if self._waiting and self._waiting[0].step <= last_step:
            return self._waiting[0]
        return None

    def take_change(self) -> None:
        """Take the change that `next_change` returned."""
        self._waiting.popleft()

    def struck_step(self, last_step: int) -> int | None:
        """Return the step up to a last one at which the face stops the carriage."""
        setup = self.setup
        if setup.direction < 0:
            return None
        hard_mm = max(setup.hard_mm, setup.carriage_mm)

        def beyond(step: int) -> bool:
            return float(self._unstopped(np.array([step]))[0]) > hard_mm

        if not beyond(last_step):
            return None
        steps = range(1, last_step + 1)
        return steps[bisect_left(steps, True, key=beyond)]

    def motor_steps(self, step: int) -> int:
        """Return where the motor is after a step."""
        setup = self.setup
        struck = self.struck_step(step)
        step = step if struck is None else struck
        return setup.motor_steps + setup.direction * max(0, step - setup.lost_steps)

    def carriage_mm(self, step: int) -> float:
        """Return where the carriage is after a step."""
        return float(self._carriage(np.array([step]))[0])

    def _carriage(self, steps: npt.NDArray[np.int64]) -> FloatArray:
        carriage = self._unstopped(steps)
        if self.setup.direction < 0:
            return carriage
        return np.minimum(carriage, max(self.setup.hard_mm, self.setup.carriage_mm))

    def _unstopped(self, steps: npt.NDArray[np.int64]) -> FloatArray:
        setup = self.setup
        gone = np.maximum(steps - setup.lost_steps, 0)
        turned = (setup.motor_steps + setup.direction * gone) / setup.steps_per_mm
        nut = turned * setup.scale
        if setup.screw_mm:
            turn = 2.0 * np.pi / setup.screw_lead_mm
            nut = nut + setup.screw_mm * np.sin(turn * turned + setup.screw_phase_rad)
            if setup.screw_second_mm:
                phase = 2.0 * turn * turned + setup.screw_second_phase_rad
                nut = nut + setup.screw_second_mm * np.sin(phase)
        half_play: float | FloatArray = setup.play_mm / 2.0
        if setup.play_per_mm:
            more = setup.play_per_mm * (setup.face_mm - turned)
            half_play = np.maximum(0.0, half_play + more / 2.0)
        # Play operator; in one direction the carriage only ever goes that way
        if setup.direction > 0:
            return np.maximum(setup.carriage_mm, nut - half_play)
        return np.minimum(setup.carriage_mm, nut + half_play)

    def _scan(self) -> None:
        first = self._chunks * CHUNK_STEPS + 1
        carriage = self._carriage(np.arange(first, first + CHUNK_STEPS))
        found = self._switches(first, carriage)
        if self.setup.response is not None:
            looks = self._looks(self.setup.response, carriage)
            found += [
                Change(step=first + int(index), source=Source.OUT, level=bool(level))
                for index, level in looks
            ]
        self._chunks += 1
        # Stable: at one step the switches come before the sensor's look
        self._waiting.extend(sorted(found, key=lambda change: change.step))

    def _switches(self, first: int, carriage: FloatArray) -> list[Change]:
        setup, found = self.setup, []
        up = setup.direction > 0
        if self._probe != up:
            opens_mm = setup.probe_mm - setup.probe_hysteresis_mm
            beyond = carriage >= (setup.probe_mm if up else opens_mm)
            index = int(np.argmax(beyond == up))
            if bool(beyond[index]) == up:
                self._probe = up
                step = first + index
                found.append(Change(step=step, source=Source.PROBE, level=up))
        if self._home == up and not (up and setup.home_sticks):
            closed = carriage <= setup.home_mm
            index = int(np.argmax(closed != up))
            if bool(closed[index]) != up:
                self._home = not up
                step = first + index
                found.append(Change(step=step, source=Source.HOME, level=not up))
        return found

    def _looks(
        self, response: Response, carriage: FloatArray
    ) -> list[tuple[int, bool]]:
        setup = self.setup
        away_mm = (setup.face_mm - carriage) * setup.cos_tilt
        gap_mm = np.maximum(away_mm, 0.0) / setup.reach
        signal = response.signal_at(gap_mm) + setup.offset
        release = 1.0 - response.hysteresis
        reach = NOISE_REACH * setup.noise
        if self._operated:
            settled = float(signal.min()) - reach >= release
        else:
            settled = float(signal.max()) + reach < 1.0
        if settled:
            return []
        if setup.noise:
            draw = setup.noise_stream(self._chunks)
            signal = signal + setup.noise * draw.standard_normal(len(signal))
        levels = switched(signal, release, self._operated)
        before = np.concatenate(([self._operated], levels[:-1]))
        self._operated = bool(levels[-1])
        return [(int(i), bool(levels[i])) for i in np.flatnonzero(levels != before)]


def switched(
    signal: FloatArray, release: float, operated: bool
) -> npt.NDArray[np.bool_]:
    """Return the state after each look.

    Operated at a signal of 1 and above, released below ``release``, in between as
    before.
    """
    decides = (signal >= 1.0) | (signal < release)
    index = np.where(decides, np.arange(len(signal)), -1)
    last = np.maximum.accumulate(index)
    return np.where(last >= 0, signal[last] >= 1.0, operated)
