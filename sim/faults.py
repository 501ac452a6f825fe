"""Named fault modes of the simulated rig, as data. Knows no device.

A fault is asked for by name, some with a figure: ``garble_to_host:0.01``. What it
does stands where it happens: on the wire, in the controller or on the bench.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultMode:
    """One way to go wrong.

    Attributes:
        name: What it is asked for by.
        does: What happens, in one line.
        figure: What its figure means, with unit; empty where it takes none.
        default: Figure where none is given.
        low: Least figure allowed.
        high: Greatest figure allowed.
    """

    name: str
    does: str
    figure: str = ""
    default: float = 0.0
    low: float = 0.0
    high: float = 0.0


_SHARE = "share of the bytes, 0 to 1"
_WHEN = "simulated time in s"
_LONG_S: Final = 1e6

_MODES = (
    FaultMode(
        name="garble_to_host",
        does="flips a bit of a byte to the host now and then",
        figure=_SHARE,
        default=0.002,
        high=1.0,
    ),
    FaultMode(
        name="garble_to_controller",
        does="flips a bit of a byte from the host now and then",
        figure=_SHARE,
        default=0.002,
        high=1.0,
    ),
    FaultMode(
        name="drop_notice",
        does="leaves a notice out on the wire now and then",
        figure="share of the notices, 0 to 1",
        default=0.1,
        high=1.0,
    ),
    FaultMode(name="silent", does="never answers"),
    FaultMode(name="nonsense", does="answers with bytes that mean nothing"),
    FaultMode(name="too_new", does="speaks major version 9 only"),
    FaultMode(
        name="restart_at",
        does="the controller restarts once",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="hang_up",
        does="the link goes away",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="lost_steps",
        does="the motor loses its first four full steps in one motion order",
        figure="which order, counted from 1",
        default=8.0,
        low=1.0,
        high=_LONG_S,
    ),
    FaultMode(name="sensor_dead", does="the sensor never operates"),
    FaultMode(name="sensor_on", does="the sensor is always operated"),
    FaultMode(
        name="chatter",
        does="the sensor has ten times its noise, and little hysteresis against it",
        figure="hysteresis over the noise of one look",
        default=1.0,
        low=0.01,
        high=100.0,
    ),
    FaultMode(
        name="supply_lost",
        does="the sensor's supply goes away",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="drive_lost",
        does="the emergency stop is pressed: the motor's drive goes off",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="probe_wire",
        does="the wire of the touch probe breaks, whose contact opens at touch",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="home_wire",
        does="the wire of the home switch breaks, whose contact opens at its place",
        figure=_WHEN,
        default=5.0,
        high=_LONG_S,
    ),
    FaultMode(
        name="spikes",
        does="pulses of 20 us on the line of the sensor's output, now and then",
        figure="pulses a second",
        default=0.05,
        high=100.0,
    ),
    FaultMode(
        name="scale_reversed",
        does="the scale, where there is one, counts down toward the face",
    ),
    FaultMode(
        name="false_pulse",
        does="the sensor's output gives a pulse as its supply is switched on",
        figure="how long, in ms",
        default=5.0,
        high=1000.0,
    ),
    FaultMode(name="no_thermometer", does="the rig measures no temperature"),
    FaultMode(name="home_broken", does="the home switch never closes"),
    FaultMode(name="home_stuck", does="the home switch never opens once closed"),
    FaultMode(name="home_shorted", does="the home switch is closed all the time"),
    FaultMode(name="axis_reversed", does="the motor turns the wrong way"),
    FaultMode(
        name="starts_touching",
        does="the carriage stands against the face when power comes on",
    ),
    FaultMode(
        name="probe_untapped",
        does="nobody taps the touch probe when power comes on",
    ),
    FaultMode(name="probe_shorted", does="the touch probe is closed all the time"),
    FaultMode(name="probe_dead", does="the touch probe never closes"),
    FaultMode(
        name="probe_late",
        does="the input of the touch probe follows its contact late, both ways",
        figure="how much later, in ms",
        default=10.0,
        high=1000.0,
    ),
    FaultMode(
        name="face_moved",
        does="the sensor is knocked once the carriage leaves it after the touches",
        figure="move of its face in um, above 0 away from the target",
        default=50.0,
        low=-1000.0,
        high=1000.0,
    ),
    FaultMode(
        name="scale_off",
        does="the axis travels farther than the controller states",
        figure="share of the way, such as 0.01",
        default=0.01,
        low=-0.1,
        high=0.1,
    ),
    FaultMode(
        name="drift",
        does="distances drift toward a new value, time constant 300 s",
        figure="relative change in the end, such as 0.02",
        default=0.02,
        low=-0.5,
        high=0.5,
    ),
)

MODES: Mapping[str, FaultMode] = MappingProxyType({mode.name: mode for mode in _MODES})

DRIFT_TIME_S: Final = 300.0
CHATTER_NOISE: Final = 10.0  # times the sensor's own
NEW_MAJOR: Final = 9


@dataclass(frozen=True, slots=True)
class Faults:
    """The faults that are in force.

    Attributes:
        figures: Figure of each, by name.
    """

    figures: Mapping[str, float]

    def __contains__(self, name: object) -> bool:
        return name in self.figures

    def get(self, name: str) -> float | None:
        """Return the figure of a fault, None if it is not in force."""
        return self.figures.get(name)

    def time_us(self, name: str) -> int | None:
        """Return when a fault with a time happens, in simulated µs."""
        figure = self.figures.get(name)
        return None if figure is None else round(figure * 1e6)


NO_FAULTS: Final = Faults(MappingProxyType({}))


def read_faults(text: str) -> Faults:
    """Return the faults of a list like ``drop_notice:0.3,home_broken``.

    Raises:
        ValueError: A name or figure is wrong; the text says which and what is right.
    """
    figures: dict[str, float] = {}
    for part in text.split(","):
        name, colon, figure = part.strip().partition(":")
        if name not in MODES:
            raise ValueError(
                f"no fault is called {name!r}; there are {', '.join(MODES)}"
            )
        mode = MODES[name]
        if not colon:
            figures[name] = mode.default
            continue
        if not mode.figure:
            raise ValueError(f"fault {name} takes no figure, got {figure!r}")
        try:
            figures[name] = float(figure)
        except ValueError:
            raise ValueError(
                f"fault {name} takes a number ({mode.figure}), got {figure!r}"
            ) from None
        if not mode.low <= figures[name] <= mode.high:
            raise ValueError(
                f"fault {name} takes {mode.low:g} to {mode.high:g} ({mode.figure}),"
                f" got {figure}"
            )
    return Faults(MappingProxyType(figures))


class Garbler:
    """Flips bits of bytes with a given chance, from its own seeded stream."""

    def __init__(self, share: float | None, seed: int, stream: int) -> None:
        self._share = share
        self._random = np.random.Generator(np.random.Philox(key=[seed, stream]))

    def garble(self, data: bytes) -> bytes:
        """Return the bytes as they arrive."""
        if self._share is None or not data:
            return data
        values = np.frombuffer(data, dtype=np.uint8).copy()
        hit = self._random.random(len(data)) < self._share
        bits = self._random.integers(0, 8, len(data))
        values[hit] ^= (1 << bits[hit]).astype(np.uint8)
        return values.tobytes()
