"""What goes wrong in a session of the campaign, drawn from its seed."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from tests.campaign.faulty_wire import Cut, Fault

ONE_PAIR = """
title = "one pair under faults"
sweeps = {sweeps}
[[run]]
sensors = ["level-18"]
targets = ["steel"]
"""
TWELVE_RUNS = """
title = "three sensors against four metals"
sweeps = {sweeps}
[[run]]
sensors = ["level-18", "level-18-nc", "gate-8"]
targets = ["steel", "stainless", "brass", "aluminium"]
"""
# What goes wrong with the hardware, as the simulated rig is asked for it
HARDWARE = {
    "lost steps": "lost_steps:{order}",
    "stuck sensor, off": "sensor_dead",
    "stuck sensor, on": "sensor_on",
    "chatter": "chatter",
    "loose probe": "probe_wire:{when}",
    "late probe": "probe_late",
    "slipped target": "face_moved:{um}",
    "supply dip": "supply_lost:{when}",
    "emergency stop": "drive_lost:{when}",
    "spikes": "spikes:0.2",
}
WRAP, DRIFT = "wrap-around", "clock drift"


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What goes wrong in one session.

    Attributes:
        seed: Seed of rig and line.
        sweeps: Good sweeps that are wanted of each pair.
        plan: Text of the plan, with room for that number.
        shares: Shares of the classes of faults of the line.
        cuts: Cuts of the line.
        restart_us: When the controller restarts; None for never.
        hardware: Name of what goes wrong with the hardware; empty for nothing.
        wrap: Whether clock and numbers of notices begin anew in mid-session.
        drift: Share by which the host's clock is fast.
        stops_from_noise: Whether damage may make a stop byte.
    """

    seed: int
    sweeps: int
    plan: str = ONE_PAIR
    shares: dict[Fault, float] = field(default_factory=dict)
    cuts: tuple[Cut, ...] = ()
    restart_us: int | None = None
    hardware: str = ""
    wrap: bool = False
    drift: float = 0.0
    stops_from_noise: bool = True


def drawn(seed: int, sweeps: int) -> Setting:
    """Return a setting of mixed faults: up to four of the line, often one beside."""
    chance = random.Random(seed)
    shares = {}
    of_line = [fault for fault in Fault if fault not in (Fault.CUT, Fault.RESTART)]
    for fault in chance.sample(of_line, chance.randrange(1, 5)):
        most = 1e-3 if fault.value.startswith("bytes") else 0.03
        shares[fault] = most * 10.0 ** chance.uniform(-1.0, 0.0)
    cuts = drawn_cuts(chance, chance.randrange(1, 6)) if chance.random() < 0.3 else ()
    restart = chance.random() < 0.1
    hardware = chance.choice(list(HARDWARE)) if chance.random() < 0.3 else ""
    return Setting(
        seed=seed,
        sweeps=sweeps,
        shares=shares,
        cuts=cuts,
        restart_us=chance.randrange(25_000_000, 80_000_000) if restart else None,
        hardware=hardware,
        wrap=chance.random() < 0.2,
        drift=chance.uniform(-0.005, 0.005) if chance.random() < 0.3 else 0.0,
    )


def drawn_cuts(chance: random.Random, count: int) -> tuple[Cut, ...]:
    """Return cuts of 1 ms to 60 s, as many short as long ones, in order."""
    cuts, at_us = [], 1_000_000
    for _ in range(count):
        at_us += round(1e6 * chance.uniform(2.0, 40.0))
        length_us = round(1e3 * 60_000.0 ** chance.random())
        cuts.append(Cut(begin_us=at_us, end_us=at_us + length_us))
        at_us += length_us
    return tuple(cuts)
