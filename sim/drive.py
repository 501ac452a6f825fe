"""Runs one stretch of motion at a time and tells what happens when.

Knows the controller's step count and the simulated clock; knows no request, no
state and no reason why it moves.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum
from typing import Final

from firmware_protocol.messages import Source
from sim.axis import Profile
from sim.bench import Bench
from sim.stretch import Change, Stretch

# Instants are kept in exact µs and told in whole ones; this much over a whole one
# is rounding.
_ROUNDING_US: Final = 1e-3
# A pulse at switch-on begins after this share of what the sensor takes to wake, and is
# over so long before
_PULSE_SHARE: Final = 0.2
_APART_US: Final = 200.0


class Kind(Enum):
    """What happened."""

    PROBE = "probe"
    HOME = "home"
    OUT = "out"
    LOOKED = "looked"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """Something that the controller can see; `LOOKED` is for the drive alone.

    Attributes:
        kind: What.
        level: Level after the change.
        count_steps: Step count latched.
        time_us: Simulated time latched.
        gone_steps: Steps of this stretch given by then; 0 at rest.
        scale: Count of the scale latched; None without one.
    """

    kind: Kind
    level: bool = False
    count_steps: int
    time_us: int
    gone_steps: int
    scale: int | None = None


@dataclass(slots=True)
class _Running:
    stretch: Stretch
    profile: Profile
    start_us: int
    start_steps: int
    direction: int

    def seconds(self, time_us: float) -> float:
        return (time_us - self.start_us) * 1e-6

    def pulse_us(self, step: int) -> float:
        return self.start_us + self.profile.seconds_at(step) * 1e6

    def change_us(self, change: Change) -> float:
        at = self.pulse_us(change.step)
        if change.source is not Source.OUT:
            return at
        # The sensor looks on its own clock, some time between this step and the next
        after = self.pulse_us(min(change.step + 1, self.profile.steps))
        return at + self.stretch.setup.look_phase * (after - at)

    def carriage_mm(self, gone: int, time_us: float) -> float:
        """Return where the carriage is: it carries out the last step until the next."""
        here = self.stretch.carriage_mm(gone)
        if gone == 0:
            return here
        before = self.stretch.carriage_mm(gone - 1)
        pulse_us = self.pulse_us(gone)
        if gone < self.profile.steps:
            lasts_us = self.pulse_us(gone + 1) - pulse_us
        else:
            lasts_us = pulse_us - self.pulse_us(gone - 1)
        return before + min(1.0, (time_us - pulse_us) / lasts_us) * (here - before)


class Drive:
    """The axis under way or at rest, and the delays between sensor, probe and input.

    Attributes:
        output_level: Level at the input for the sensor's output.
        count_steps: Step count at rest; while moving, where the stretch began.
        last_pulse_us: Simulated time of the last step pulse before the axis rested.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.output_level = bench.output_level
        self.count_steps = 0
        self.last_pulse_us = 0
        self._running: _Running | None = None
        self._delayed: deque[tuple[float, bool]] = deque()
        self._probe_delayed: deque[tuple[float, bool]] = deque()
        self._due_us: int | None = None
        self._due_known = False
        self._wakes_us = 0.0
        self._scale_zero = 0

    @property
    def moving(self) -> bool:
        """Whether the axis is under way."""
        return self._running is not None

    def start(
        self, *, now_us: int, direction: int, profile: Profile, order: int, leg: int
    ) -> None:
        """Begin a stretch of motion."""
        stretch = self.bench.begin(
            direction=direction, order=order, leg=leg, time_s=now_us * 1e-6
        )
        self.last_pulse_us = now_us
        self._due_known = False
        self._running = _Running(
            stretch=stretch,
            profile=profile,
            start_us=now_us,
            start_steps=self.count_steps,
            direction=direction,
        )

    def end_after(self, steps: int, time_us: int) -> None:
        """End the stretch after so many steps, or as soon as the ramp allows."""
        running = self._require()
        self._due_known = False
        running.profile = running.profile.ended_at(steps, running.seconds(time_us))

    def stop(self, now_us: int) -> None:
        """Give no further pulse."""
        running = self._require()
        self._settle(running.profile.pulses_at(running.seconds(now_us)))

    def count_at(self, time_us: float) -> int:
        """Return the step count at an instant."""
        return self.count_steps + self._signed(self._gone(time_us))

    def set_count(self, count_steps: int) -> None:
        """Call the place where the axis rests by another number."""
        self.count_steps = count_steps

    def scale_at(self, time_us: float) -> int | None:
        """Return the scale's count at an instant; None without a scale."""
        if not self.bench.has_scale:
            return None
        running = self._running
        if running is None:
            carriage_mm = self.bench.carriage_mm
        else:
            carriage_mm = running.carriage_mm(self._gone(time_us), time_us)
        return self.bench.scale_count(carriage_mm, time_us * 1e-6) - self._scale_zero

    def set_scale_zero(self, seen: Happening | None) -> None:
        """Call the count that the scale had then 0; None for its own zero."""
        if seen is None:
            self._scale_zero = 0
        elif seen.scale is not None:
            self._scale_zero += seen.scale

    def cut_supply(self, now_us: int) -> None:
        """Take the supply from the sensor: its output falls at once."""
        self.bench.supplied = False
        self._fall(now_us)

    def switch_supply(self, on: bool, now_us: int) -> None:
        """Switch the sensor's supply at rest; its output falls, or wakes with it."""
        bench = self.bench
        if bench.switched_on is on:
            return
        bench.switched_on = on
        if not bench.powered:
            self._fall(now_us)
            return
        wakes_us, pulse_us = bench.wake()
        if pulse_us:
            begins_us = now_us + _PULSE_SHARE * wakes_us
            self._delayed.append((begins_us, True))
            self._delayed.append((begins_us + pulse_us, False))
            wakes_us = max(wakes_us, _PULSE_SHARE * wakes_us + pulse_us + _APART_US)
        self._wakes_us = now_us + wakes_us
        self._due_known = False
        if bench.output_level:
            self._delayed.append((self._wakes_us, True))

    def _fall(self, now_us: int) -> None:
        self._due_known = False
        self._delayed.clear()
        if self.output_level:
            self._delayed.append((float(now_us), False))

    def disturb(self, now_us: int, length_us: int) -> None:
        """Let the output change for a moment, unless a change of it is due by then."""
        if self._delayed and self._delayed[0][0] <= now_us + length_us:
            return
        level = self.output_level
        self._due_known = False
        self._delayed.appendleft((float(now_us + length_us), level))
        self._delayed.appendleft((float(now_us), not level))

    def break_wire(self, source: Source, now_us: int) -> Happening | None:
        """Break the wire of probe or home switch; return what the controller sees."""
        bench = self.bench
        bench.broken_wires.add(source)
        if source is Source.PROBE:
            kind, seen = Kind.PROBE, not bench.probe_closed
            bench.probe_closed = True
        else:
            kind, seen = Kind.HOME, not bench.home_closed
            bench.home_closed = True
        return self._seen(kind, True, now_us) if seen else None

    def forget_delayed(self) -> None:
        """Let the inputs show what output and probe are now."""
        self._due_known = False
        self._delayed.clear()
        self._probe_delayed.clear()
        if Source.PROBE not in self.bench.broken_wires:
            self.bench.probe_closed = self.bench.contact_closed
        self.output_level = self.bench.output_level

    def next_us(self) -> int | None:
        """Return when the next thing happens, None if nothing will."""
        if not self._due_known:
            self._due_us, self._due_known = self._next_us(), True
        return self._due_us

    def _next_us(self) -> int | None:
        times = [waiting[0][0] for waiting in self._waiting()]
        running = self._running
        if running is not None:
            change = self._change()
            if change is not None:
                times.append(running.change_us(change))
            times.append(running.pulse_us(running.profile.steps))
        return _whole_us(min(times)) if times else None

    def take(self) -> Happening:
        """Take what happens next; only after `next_us` told when."""
        self._due_known = False
        running, change = self._running, self._change()
        if running is not None and change is not None:
            at_us = running.change_us(change)
            if all(at_us <= waiting[0][0] for waiting in self._waiting()):
                return self._take_change(running, change, at_us)
        if soonest := min(self._waiting(), key=lambda each: each[0][0], default=None):
            at_us, level = soonest[0]
            if running is None or at_us <= running.pulse_us(running.profile.steps):
                soonest.popleft()
                if soonest is self._probe_delayed:
                    return self._probe(level, at_us)
                self.output_level = level
                return self._seen(Kind.OUT, level, at_us)
        running = self._require()
        end_us = running.pulse_us(running.profile.steps)
        seen = self._seen(Kind.END, False, end_us)
        self._settle(running.profile.steps)
        return seen

    def _take_change(
        self, running: _Running, change: Change, at_us: float
    ) -> Happening:
        running.stretch.take_change()
        if change.source is Source.OUT:
            self._look(change.level, at_us)
            return self._seen(Kind.LOOKED, change.level, at_us)
        if change.source is Source.PROBE:
            self.bench.contact_closed = change.level
            delay_us = self.bench.probe_delay_us
            if delay_us:
                self._probe_delayed.append((at_us + delay_us, change.level))
                return self._seen(Kind.LOOKED, change.level, at_us)
            return self._probe(change.level, at_us)
        if Source.HOME in self.bench.broken_wires:
            return self._seen(Kind.LOOKED, change.level, at_us)
        self.bench.home_closed = change.level
        return self._seen(Kind.HOME, change.level, at_us)

    def _probe(self, level: bool, at_us: float) -> Happening:
        if Source.PROBE in self.bench.broken_wires:
            return self._seen(Kind.LOOKED, level, at_us)
        self.bench.probe_closed = level
        return self._seen(Kind.PROBE, level, at_us)

    def _look(self, operated: bool, at_us: float) -> None:
        if not self.bench.powered:
            return
        self.bench.operated = operated
        due_us = max(at_us + self.bench.delay_us(operated), self._wakes_us)
        level = self.bench.output_level
        while self._delayed and self._delayed[-1][0] >= due_us:
            self._delayed.pop()  # overtaken before it came out: a pulse too short
        settled = self._delayed[-1][1] if self._delayed else self.output_level
        if level != settled:
            self._delayed.append((due_us, level))

    def _seen(self, kind: Kind, level: bool, at_us: float) -> Happening:
        return Happening(
            kind=kind,
            level=level,
            count_steps=self.count_at(at_us),
            time_us=_whole_us(at_us),
            gone_steps=self._gone(at_us),
            scale=None if kind is Kind.LOOKED else self.scale_at(at_us),
        )

    def _change(self) -> Change | None:
        running = self._running
        if running is None:
            return None
        last = running.profile.steps
        for waiting in self._waiting():
            # What comes out first may end the motion: look no further than it yet
            last = min(last, self._gone(waiting[0][0]) + 1)
        return running.stretch.next_change(last)

    def _waiting(self) -> list[deque[tuple[float, bool]]]:
        both = (self._delayed, self._probe_delayed)
        return [waiting for waiting in both if waiting]

    def _gone(self, time_us: float) -> int:
        running = self._running
        if running is None:
            return 0
        return running.profile.pulses_at(running.seconds(time_us))

    def _signed(self, steps: int) -> int:
        return 0 if self._running is None else self._running.direction * steps

    def _settle(self, steps: int) -> None:
        running = self._require()
        if steps:
            self.last_pulse_us = _whole_us(running.pulse_us(steps))
        self.count_steps = running.start_steps + running.direction * steps
        struck = running.stretch.struck_step(steps)
        if struck is not None:
            self.bench.strike(
                past_steps=steps - struck + 1,
                speed_steps_s=running.profile.speed_at(
                    running.profile.seconds_at(struck)
                ),
                time_s=running.pulse_us(steps) * 1e-6,
            )
        self.bench.finish(running.stretch, steps)
        self._running = None
        self._due_known = False

    def _require(self) -> _Running:
        assert self._running is not None, "the axis is at rest"
        return self._running


def _whole_us(time_us: float) -> int:
    return math.ceil(time_us - _ROUNDING_US)
