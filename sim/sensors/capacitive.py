"""Capacitive head: a disc electrode flush in an earthed plane. Knows no threshold.

Electrode, compensation ring and cover of a real sensor are folded into one
effective radius and one offset. The oscillator is taken to compare the real part
of the capacitance change.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.sensors.quadrature import squared_bessel_rule
from sim.targets import EPS0_F_M, SimTarget

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitiveHead:
    """A disc electrode.

    Attributes:
        radius_mm: Effective radius of the electrode.
        cover_mm: Offset of the electrode behind the active face.
        frequency_hz: Frequency of the oscillator; matters to lossy targets only.
    """

    radius_mm: float
    cover_mm: float = 0.0
    frequency_hz: float = 300e3

    @property
    def length_mm(self) -> float:
        """The length that scales the response."""
        return self.radius_mm

    def signal(self, gap_mm: FloatArray, target: SimTarget) -> FloatArray:
        """Return the capacitance change in pF for each gap, gaps above 0.

        dC = 4 pi eps0 R Integral J1(u)^2 g/(1-g) du with
        g = G(u/R) exp(-2 u d/R): the images of a disc between an earthed plane
        and a plane that reflects G (Jackson, Classical Electrodynamics; Sneddon,
        Mixed Boundary Value Problems; both from memory).
        """
        nodes, weights = squared_bessel_rule()
        reflection = target.electric_reflection(
            nodes / self.radius_mm, self.frequency_hz
        )
        depth = (np.asarray(gap_mm, dtype=np.float64) + self.cover_mm) / self.radius_mm
        image = reflection * np.exp(-2.0 * depth[..., None] * nodes)
        # 1 - g from expm1 where G is 1, or the near limit loses digits
        missing = (1.0 - reflection) * np.exp(-2.0 * depth[..., None] * nodes)
        missing = missing - np.expm1(-2.0 * depth[..., None] * nodes)
        integral = (image / missing).real @ weights
        scale = 4.0 * np.pi * EPS0_F_M * self.radius_mm * 1e-3 * 1e12
        return np.asarray(scale * integral, dtype=np.float64)
