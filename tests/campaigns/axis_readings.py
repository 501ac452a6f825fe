"""What a person reads of an axis on an indicator, on another day than the sweeps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.campaigns.benches import Array, Benches

PLACES_PER_TURN = 8
READINGS = 3  # at each place in each direction
INSTRUMENT_MM = 0.6e-3  # standard uncertainty of the indicator, as its certificate says
_READ_OFF_MM = 0.3e-3  # of a reading, from one to the next
_AT_S = 900.0
_FARTHEST_MM, _BEHIND_MM = 15.0, 0.25


@dataclass(frozen=True, kw_only=True)
class Indicated:
    """Deviations of one axis, actual less commanded; mm.

    Attributes:
        places_mm: Commanded places from home, rising, shape (m,).
        up_mm: Readings on approach, shape (m, n).
        down_mm: Readings on retreat, shape (m, n).
        lead_mm: Lead of the screw, which the places were chosen by.
    """

    places_mm: Array
    up_mm: Array
    down_mm: Array
    lead_mm: float


def read_indicator(benches: Benches, rng: np.random.Generator) -> list[Indicated]:
    """Read every axis over the places that sweeps go to, in steps within a turn."""
    return [_read(benches.one(index), rng) for index in range(benches.count)]


def _read(bench: Benches, rng: np.random.Generator) -> Indicated:
    scale, face_mm = bench.of("steps_per_mm")[0], bench.of("face_mm")[0]
    lead_mm = float(bench.of("screw_lead_mm")[0])
    apart_mm = lead_mm / PLACES_PER_TURN
    wanted = np.arange(
        face_mm - _FARTHEST_MM, face_mm + _BEHIND_MM + apart_mm, apart_mm
    )
    counts = np.round(wanted * scale)
    time_s = np.full((1, counts.size), _AT_S)
    home_mm = bench.of("home_mm") + bench.of("home_noise_mm") * rng.normal()
    home = np.floor(
        scale * bench.turned_to_mm(home_mm[:, np.newaxis], time_s[:, :1], up=False)
    )
    turned = (counts[np.newaxis] + home) / scale
    places = counts / scale
    # The instrument is off at each place as it is; a reading is read off anew
    off = INSTRUMENT_MM * rng.normal(size=(counts.size, 1))

    def readings(*, up: bool) -> Array:
        actual = bench.carriage_mm(turned, time_s, up=up)[0] - home_mm
        read = _READ_OFF_MM * rng.normal(size=(counts.size, READINGS))
        return (actual - places)[:, np.newaxis] + off + read

    return Indicated(
        places_mm=places,
        up_mm=readings(up=True),
        down_mm=readings(up=False),
        lead_mm=lead_mm,
    )
