"""Inductive head: one filament loop over a plane target. Knows no threshold.

Core, windings and housing of a real sensor are folded into one effective loop
radius and one offset. The oscillator is taken to compare the loss, the real part
of the impedance change.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from sim.sensors.quadrature import squared_bessel_rule
from sim.targets import MU0_H_M, SimTarget

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class InductiveHead:
    """One loop of one turn.

    Attributes:
        radius_mm: Effective radius of the loop.
        cover_mm: Offset of the loop behind the active face.
        frequency_hz: Frequency of the oscillator.
    """

    radius_mm: float
    cover_mm: float = 0.0
    frequency_hz: float = 300e3

    @property
    def length_mm(self) -> float:
        """The length that scales the response."""
        return self.radius_mm

    def impedance_change(
        self, gap_mm: FloatArray, target: SimTarget
    ) -> npt.NDArray[np.complex128]:
        """Return the impedance change in ohm for each gap, gaps above 0.

        dZ = j omega mu0 pi a^2 Integral J1(s a)^2 exp(-2 s d) Gamma(s) ds
        (Dodd and Deeds, J. Appl. Phys. 39, 2829, 1968; Cheng 1965; from memory).
        """
        nodes, weights = squared_bessel_rule()
        reflection = target.magnetic_reflection(
            nodes / self.radius_mm, self.frequency_hz
        )
        depth = (np.asarray(gap_mm, dtype=np.float64) + self.cover_mm) / self.radius_mm
        decay = np.exp(-2.0 * depth[..., None] * nodes)
        integral = decay @ (weights * reflection)
        omega = 2.0 * np.pi * self.frequency_hz
        scale = 1j * omega * MU0_H_M * np.pi * self.radius_mm * 1e-3
        return np.asarray(scale * integral, dtype=np.complex128)

    def signal(self, gap_mm: FloatArray, target: SimTarget) -> FloatArray:
        """Return the loss resistance in ohm for each gap, gaps above 0."""
        return self.impedance_change(gap_mm, target).real
