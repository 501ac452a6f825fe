"""Nodes and weights for integrals of J1(x)^2 times a smooth decay, 0 to infinity.

Gauss-Legendre panels: geometric ones near 0, where a far target puts the weight;
one for each half wave of J1 up to `WAVES` of them; geometric ones beyond, where
J1^2 is replaced by its mean over a wave, (1 + 3/(8 x^2)) / (pi x) (Abramowitz and
Stegun 9.2.28). What is left out there is below 1e-5 of the integral for gaps from
0.001 of the radius.
"""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.special import j1

FloatArray = npt.NDArray[np.float64]

ORDER: Final = 10  # nodes in a panel
WAVES: Final = 64  # half waves of J1 that are followed
SMALLEST: Final = 2.0**-10  # end of the first panel, in units of pi
TAIL_OCTAVES: Final = 8  # to x = 5e4: exp(-2 x d/R) is 0 there for d = 0.001 R


@cache
def squared_bessel_rule() -> tuple[FloatArray, FloatArray]:
    """Return nodes x and weights w with sum(w f(x)) = integral of J1(x)^2 f(x)."""
    near = np.concatenate(([0.0], np.geomspace(SMALLEST, 1.0, 11)))
    waves = np.arange(2.0, WAVES + 1.0)
    followed = np.pi * np.concatenate((near, waves))
    tail = followed[-1] * 2.0 ** np.arange(TAIL_OCTAVES + 1)
    x_near, w_near = _panels(followed)
    x_far, w_far = _panels(tail)
    mean_square = (1.0 + 3.0 / (8.0 * x_far**2)) / (np.pi * x_far)
    nodes = np.concatenate((x_near, x_far))
    weights = np.concatenate((w_near * j1(x_near) ** 2, w_far * mean_square))
    nodes.setflags(write=False)
    weights.setflags(write=False)
    return nodes, weights


def _panels(edges: FloatArray) -> tuple[FloatArray, FloatArray]:
    unit_nodes, unit_weights = np.polynomial.legendre.leggauss(ORDER)
    half = np.diff(edges)[:, None] / 2.0
    middle = (edges[1:, None] + edges[:-1, None]) / 2.0
    return (middle + half * unit_nodes).ravel(), (half * unit_weights).ravel()
