"""The rig that is simulated where nothing is asked for is an ordinary bench."""

from __future__ import annotations

import numpy as np

from sim.options import build, read_options
from sim.population import Grade, ProbeKind, World, draw_world


def test_its_errors_are_those_of_the_middle_of_the_population() -> None:
    worlds = [draw_world(number, number) for number in range(2000)]
    rolled = [world for world in worlds if world.grade in (Grade.C7, Grade.C10)]
    contacts = [world for world in worlds if world.probe is ProbeKind.CONTACT]

    def quarters(some: list[World], name: str) -> tuple[float, float]:
        values = [abs(getattr(world.machine, name)) for world in some]
        low, high = np.quantile(values, [0.25, 0.75])
        return float(low), float(high)

    machines = [build(read_options({"seed": str(s)})).bench.machine for s in range(400)]
    for name, some in (
        ("screw_mm", rolled),
        ("probe_noise_mm", contacts),
        ("home_noise_mm", worlds),
        ("zero_mm", worlds),
    ):
        low, high = quarters(some, name)
        middle = float(np.median([abs(getattr(made, name)) for made in machines]))
        assert low <= middle <= high, (name, low, middle, high)
