"""Streams of random numbers, each for one purpose. Knows no machine."""

from __future__ import annotations

from enum import Enum

import numpy as np


class Purpose(Enum):
    """What a stream of random numbers is for; part of its key."""

    MAKE = 1
    LOOK = 2
    SWEEP = 3
    LEG = 4
    TO_HOST = 5
    TO_CONTROLLER = 6
    NOTICE = 7
    BENCH = 8
    SESSION = 9
    SPECIMEN = 10
    BLOCK = 11
    CLAMP = 12
    PLATE = 13
    SPIKE = 14
    SUPPLY = 15


def stream(
    seed: int, purpose: Purpose, order: int = 0, leg: int = 0, chunk: int = 0
) -> np.random.Generator:
    """Return a stream of its own for this purpose, order, leg and chunk."""
    bits = np.random.Philox(key=[seed, purpose.value], counter=[0, chunk, leg, order])
    return np.random.Generator(bits)
