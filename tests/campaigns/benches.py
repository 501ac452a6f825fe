"""Truths of many benches as arrays, and where their carriages stand.

Takes what was drawn from `sim.population`, and shares no code with the simulated axis:
the place of a carriage is written down here once more, for arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from sim.population import Specimen, World, draw_specimen, draw_world

Array = npt.NDArray[np.float64]

ANOTHER_DAY = 1_000_000
_TURNS_BACK = 14  # each lowers what is left of a step back by the screw's slope, < 4 %


@dataclass(frozen=True, kw_only=True)
class Benches:
    """k benches of the population, each in one session, with the specimen on it.

    `seats_mm` says how much earlier the probe closes by how the plate sits.
    """

    worlds: tuple[World, ...]
    specimens: tuple[Specimen, ...]
    seats_mm: tuple[float, ...] = ()

    @property
    def count(self) -> int:
        return len(self.worlds)

    def one(self, index: int) -> Benches:
        """Return one of them alone."""
        return self.some(slice(index, index + 1))

    def some(self, part: slice) -> Benches:
        """Return some of them."""
        return Benches(
            worlds=self.worlds[part],
            specimens=self.specimens[part],
            seats_mm=self.seats_mm[part],
        )

    def with_a_plate(self, rng: np.random.Generator) -> Benches:
        """Return the same benches with a plate put up on each."""
        seats = (world.machine.plate.drawn_mm(rng) for world in self.worlds)
        return replace(self, seats_mm=tuple(seats))

    def another_day(self) -> Benches:
        """Return the same benches in another session."""
        worlds = (draw_world(w.number, w.number + ANOTHER_DAY) for w in self.worlds)
        return Benches(worlds=tuple(worlds), specimens=self.specimens)

    @cached_property
    def _columns(self) -> dict[str, Array]:
        return {}

    def of(self, name: str, like: Array | None = None) -> Array:
        """Return one figure of every machine, shaped to go with (k, ...) arrays."""
        found = self._columns.get(name)
        if found is None:
            rows = [getattr(world.machine, name) for world in self.worlds]
            if name == "zero_mm" and self.seats_mm:
                rows = [
                    row - seat for row, seat in zip(rows, self.seats_mm, strict=True)
                ]
            found = self._columns[name] = np.array(rows, dtype=np.float64)
        return _beside(found, like)

    def room(self, name: str, like: Array | None = None) -> Array:
        """Return one figure of every machine's surroundings."""
        found = self._columns.get(f"room {name}")
        if found is None:
            rows = [getattr(w.machine.surroundings, name) for w in self.worlds]
            found = self._columns[f"room {name}"] = np.array(rows, dtype=np.float64)
        return _beside(found, like)

    def habit(self, name: str, like: Array | None = None) -> Array:
        """Return one habit of every specimen."""
        rows = [getattr(specimen.habits, name) for specimen in self.specimens]
        return _beside(np.array(rows, dtype=np.float64), like)

    # ---- what changes by itself; times of shape (...) or (k, ...)

    def air_c(self, time_s: Array) -> Array:
        turn = 2.0 * np.pi * time_s / self.room("cycle_s", time_s)
        swing = np.sin(turn + self.room("cycle_phase_rad", time_s))
        drift = self.room("drift_k_h", time_s) * time_s / 3600.0
        return self.room("air_c", time_s) + drift + self.room("cycle_k", time_s) * swing

    def screw_scale(self, time_s: Array) -> Array:
        gone = 1.0 - np.exp(-time_s / self.room("motor_time_s", time_s))
        warmer = self.air_c(time_s) - 20.0 + self.room("motor_k", time_s) * gone
        expanded = 1.0 + self.room("screw_per_k", time_s) * warmer
        return expanded * (1.0 + self.of("screw_linear", time_s))

    def face_at_mm(self, time_s: Array) -> Array:
        gone = 1.0 - np.exp(-time_s / self.room("creep_time_s", time_s))
        warmth = self.room("loop_mm_per_k", time_s) * (self.air_c(time_s) - 20.0)
        settled = self.room("creep_mm", time_s) * gone
        return self.of("face_mm", time_s) + warmth + settled

    def reach(self, time_s: Array) -> Array:
        powered = self.room("powered_s", time_s) + time_s
        cold = np.exp(-powered / self.habit("warm_time_s", time_s))
        volts = self.room("supply_v", time_s) - 24.0
        volts = volts + self.room("supply_v_h", time_s) * time_s / 3600.0
        return (
            (1.0 + self.habit("per_k", time_s) * (self.air_c(time_s) - 20.0))
            * (1.0 - self.habit("warm_up", time_s) * cold)
            * (1.0 + self.habit("per_v", time_s) * volts)
        )

    # ---- where the carriage stands; `turned_mm` is motor steps over steps_per_mm

    def nut_mm(self, turned_mm: Array, time_s: Array) -> Array:
        turn = 2.0 * np.pi * turned_mm / self.of("screw_lead_mm", turned_mm)
        first = np.sin(turn + self.of("screw_phase_rad", turned_mm))
        second = np.sin(2.0 * turn + self.of("screw_second_phase_rad", turned_mm))
        return (
            turned_mm * self.screw_scale(time_s)
            + self.of("screw_mm", turned_mm) * first
            + self.of("screw_second_mm", turned_mm) * second
        )

    def half_play_mm(self, turned_mm: Array, time_s: Array) -> Array:
        away = self.face_at_mm(time_s) - turned_mm
        more = self.of("backlash_per_mm", turned_mm) * away
        return np.maximum(0.0, self.of("backlash_mm", turned_mm) + more) / 2.0

    def carriage_mm(self, turned_mm: Array, time_s: Array, *, up: bool) -> Array:
        """Return where it stands once the play is taken up in that direction."""
        half = self.half_play_mm(turned_mm, time_s)
        return self.nut_mm(turned_mm, time_s) + (-half if up else half)

    def turned_to_mm(self, place_mm: Array, time_s: Array, *, up: bool) -> Array:
        """Return how far the motor has turned when the carriage stands at a place."""
        turned = place_mm + np.zeros_like(time_s)
        for _ in range(_TURNS_BACK):
            turned = turned - (self.carriage_mm(turned, time_s, up=up) - place_mm)
        return turned


def _beside(column: Array, like: Array | None) -> Array:
    if like is None or np.ndim(like) < 2:
        return column
    return column.reshape((-1, *(1,) * (np.ndim(like) - 1)))


def draw_benches(numbers: Sequence[int]) -> Benches:
    """Return benches by number, each in the session of its own number."""
    return Benches(
        worlds=tuple(draw_world(number, number) for number in numbers),
        specimens=tuple(draw_specimen(number, "") for number in numbers),
    )
