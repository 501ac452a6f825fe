"""Watches a whole job on the simulated rig: motions, rests, contacts on the probe."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from rig.model.phases import Phase
from rig.procedures.kinematics import move_s
from rig.procedures.phase_clock import PhaseClock
from rig.wiring import Rig


@dataclass
class JobWatch:
    """What a job on one rig did, by phase.

    Attributes:
        rig: The simulated rig.
        moving_s: Least times of the motions that were ordered, from rest to rest.
        settling_s: Rests that were asked for.
        fastest_contact_mm_s: Highest speed at which the probe closed.
        overtravel_mm: Farthest way of the carriage beyond where the probe closed.
        clock: Told of events; knows the phase.
    """

    rig: Rig
    clock: PhaseClock = field(default_factory=lambda: PhaseClock(lambda _: None, float))
    moving_s: defaultdict[Phase | None, float] = field(
        default_factory=lambda: defaultdict(float)
    )
    settling_s: defaultdict[Phase | None, float] = field(
        default_factory=lambda: defaultdict(float)
    )
    fastest_contact_mm_s: float = 0.0
    overtravel_mm: float = 0.0

    _speed_mm_s: float = 0.0

    def begin(self, clock: PhaseClock) -> None:
        """Begin to watch another job."""
        self.clock = clock
        self.moving_s.clear()
        self.settling_s.clear()
        self.fastest_contact_mm_s = self.overtravel_mm = 0.0

    def __post_init__(self) -> None:
        mover = self.rig.mover
        assert self.rig.simulation is not None
        bench = self.rig.simulation._controller.bench
        go, touch, home, settle = mover.go, mover.touch, mover.home, mover.settle
        finish = bench.finish

        def watched(motion: Callable[..., Any]) -> Callable[..., Any]:
            def carried(target_steps: int, speed_mm_s: float, **words: Any) -> Any:
                from_steps = mover.position_steps
                self._speed_mm_s = speed_mm_s
                done = motion(target_steps, speed_mm_s, **words)
                way_mm = mover.length_mm(mover.position_steps - from_steps)
                self.moving_s[self.clock.phase] += move_s(
                    way_mm,
                    speed_mm_s,
                    mover.carried_acceleration_mm_s2,
                    start_speed_mm_s=mover.start_speed_mm_s,
                )
                return done

            return carried

        def homed(fast_mm_s: float) -> Any:
            began_s = mover.link.now_s()
            shift = home(fast_mm_s)
            took_s = mover.link.now_s() - began_s - mover.traits.order_s
            self.moving_s[self.clock.phase] += took_s
            return shift

        def settled(duration_s: float) -> Any:
            self.settling_s[self.clock.phase] += duration_s
            return settle(duration_s)

        def finish_and_look(stretch: Any, steps: int) -> None:
            before_mm = bench._carriage_mm
            finish(stretch, steps)
            if bench._carriage_mm > before_mm and bench.contact_closed:
                past_mm = bench._carriage_mm - bench._probe_mm
                self.overtravel_mm = max(self.overtravel_mm, past_mm)
                self.fastest_contact_mm_s = max(
                    self.fastest_contact_mm_s, self._speed_mm_s
                )

        for name, method in (
            ("go", watched(go)),
            ("touch", watched(touch)),
            ("home", homed),
            ("settle", settled),
        ):
            setattr(mover, name, method)
        bench.finish = finish_and_look  # type: ignore[method-assign]
