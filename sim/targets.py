"""Targets as stacks of plane layers, and what they reflect of a sensor's field.

Knows materials and thicknesses; knows no sensor. Layers reach without end
sideways, so edges, tilt and finite plates are not in it, save for the one
stand-in for a coupon without earth described at `floating_reflection`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from sim.materials import Material

ComplexArray = npt.NDArray[np.complex128]
FloatArray = npt.NDArray[np.float64]

EPS0_F_M: Final = 8.8541878128e-12  # CODATA 2018
MU0_H_M: Final = 1.25663706212e-6  # CODATA 2018

# Sheet length over coupon radius that makes a coupon of radius 2 R, for a disc
# electrode of radius R set to 0.889 R on earthed metal, operate at 0.73 of that
# distance. The 0.73 is a boundary-element result for that one case.
FLOATING_LENGTH_PER_RADIUS: Final = 0.815


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One plane layer.

    Attributes:
        material: What it is made of.
        thickness_mm: Above 0.
    """

    material: Material
    thickness_mm: float

    def __post_init__(self) -> None:
        """Refuse a layer without thickness."""
        if not self.thickness_mm > 0.0:
            raise ValueError(f"thickness_mm must be above 0, got {self.thickness_mm}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SimTarget:
    """A stack of layers with something behind it.

    Attributes:
        name: Short name.
        layers: Layers from the face that the sensor sees, outwards.
        backing: Material that fills all space behind the last layer; None is air.
        earthed: Whether metal in the stack, backing included, is tied to earth.
        coupon_radius_mm: Radius of the metal where it is not earthed.
    """

    name: str
    layers: tuple[Layer, ...]
    backing: Material | None = None
    earthed: bool = True
    coupon_radius_mm: float = 18.0

    def __post_init__(self) -> None:
        """Refuse a target of nothing."""
        if not self.layers and self.backing is None:
            raise ValueError(f"{self.name}: a target needs a layer or a backing")
        if not self.coupon_radius_mm > 0.0:
            raise ValueError(f"{self.name}: coupon_radius_mm must be above 0")

    def electric_reflection(
        self, wavenumber_per_mm: FloatArray, frequency_hz: float
    ) -> ComplexArray:
        """Return the image strength of the front face for each lateral wavenumber.

        Earthed metal gives 1, nothing gives 0. Quasi-static: layers are small
        against the wavelength.
        """
        outer = 1.0 + 0.0j
        interfaces: list[ComplexArray | complex] = []
        decays: list[FloatArray] = []
        end: ComplexArray | complex | None = None
        for layer in self.layers:
            if layer.material.is_metal:
                end = self._metal_end(wavenumber_per_mm)
                break
            inner = _complex_permittivity(layer.material, frequency_hz)
            interfaces.append((inner - outer) / (inner + outer))
            decays.append(np.exp(-2.0 * wavenumber_per_mm * layer.thickness_mm))
            outer = inner
        if end is None and self.backing is not None and self.backing.is_metal:
            end = self._metal_end(wavenumber_per_mm)
        if end is None:
            behind = _complex_permittivity(self.backing, frequency_hz)
            end = (behind - outer) / (behind + outer)
        return fold(interfaces, decays, end, wavenumber_per_mm.shape)

    def magnetic_reflection(
        self, wavenumber_per_mm: FloatArray, frequency_hz: float
    ) -> ComplexArray:
        """Return the reflection of a coil's field for each lateral wavenumber.

        A perfect conductor gives -1, nothing gives 0. Dodd and Deeds, J. Appl.
        Phys. 39, 2829 (1968), written as a recursion over the layers.
        """
        wavenumber_per_m = wavenumber_per_mm * 1e3
        outer = wavenumber_per_m.astype(np.complex128)
        outer_permeability = 1.0
        interfaces: list[ComplexArray | complex] = []
        decays: list[ComplexArray] = []
        for layer in self.layers:
            inner = _diffusion(layer.material, wavenumber_per_m, frequency_hz)
            permeability = layer.material.relative_permeability
            interfaces.append(
                _magnetic_step(outer, outer_permeability, inner, permeability)
            )
            decays.append(np.exp(-2.0 * inner * layer.thickness_mm * 1e-3))
            outer, outer_permeability = inner, permeability
        behind = _diffusion(self.backing, wavenumber_per_m, frequency_hz)
        permeability = self.backing.relative_permeability if self.backing else 1.0
        end = _magnetic_step(outer, outer_permeability, behind, permeability)
        return fold(interfaces, decays, end, wavenumber_per_mm.shape)

    def _metal_end(self, wavenumber_per_mm: FloatArray) -> ComplexArray | complex:
        if self.earthed:
            return 1.0 + 0.0j
        return floating_reflection(wavenumber_per_mm, self.coupon_radius_mm)


def fold(
    interfaces: Sequence[ComplexArray | complex],
    decays: Sequence[ComplexArray | FloatArray],
    end: ComplexArray | complex,
    shape: tuple[int, ...],
) -> ComplexArray:
    """Fold a stack from the back: G <- (k + G q) / (1 + k G q).

    Args:
        interfaces: Reflection k at the front of each layer, front layer first.
        decays: Decay q there and back through each layer, in the same order.
        end: Reflection at the back of the last layer.
        shape: Shape of the result.
    """
    total = np.broadcast_to(np.asarray(end, dtype=np.complex128), shape)
    for k, q in zip(reversed(interfaces), reversed(decays), strict=True):
        total = (k + total * q) / (1.0 + k * total * q)
    return np.array(total)


def floating_reflection(
    wavenumber_per_mm: FloatArray, coupon_radius_mm: float
) -> ComplexArray:
    """Return the stand-in for a metal coupon that is not earthed.

    A coupon without earth can move charge about but draw none, so it answers the
    fine structure of the field like earthed metal and the uniform part hardly at
    all. That is what a sheet with in-plane polarisability does,
    G = s L / (1 + s L) for wavenumber s, with L in proportion to the coupon's
    radius. L is fitted to one case (see `FLOATING_LENGTH_PER_RADIUS`); the shape
    of the curve away from it is a guess, and it knows no stray path to earth.
    """
    length = FLOATING_LENGTH_PER_RADIUS * coupon_radius_mm * wavenumber_per_mm
    return np.asarray(length / (1.0 + length), dtype=np.complex128)


def plate(
    material: Material,
    thickness_mm: float,
    *,
    earthed: bool = True,
    name: str | None = None,
) -> SimTarget:
    """Return a plate in air; ``earthed`` matters to metal only."""
    return SimTarget(
        name=name or material.name,
        layers=(Layer(material=material, thickness_mm=thickness_mm),),
        earthed=earthed,
    )


def cell(
    wall: Material,
    wall_mm: float,
    filling: Material,
    depth_mm: float,
    *,
    name: str | None = None,
) -> SimTarget:
    """Return a cell of bulk material with a flat wall at front and back.

    The gap counts from the outer face of the front wall.
    """
    skin = Layer(material=wall, thickness_mm=wall_mm)
    bulk = Layer(material=filling, thickness_mm=depth_mm)
    return SimTarget(name=name or filling.name, layers=(skin, bulk, skin))


def _complex_permittivity(material: Material | None, frequency_hz: float) -> complex:
    if material is None:
        return 1.0 + 0.0j
    loss = material.conductivity_s_m / (2.0 * np.pi * frequency_hz * EPS0_F_M)
    return complex(material.relative_permittivity, -loss)


def _diffusion(
    material: Material | None, wavenumber_per_m: FloatArray, frequency_hz: float
) -> ComplexArray:
    if material is None:
        return wavenumber_per_m.astype(np.complex128)
    eddy = (
        2.0j
        * np.pi
        * frequency_hz
        * MU0_H_M
        * material.relative_permeability
        * material.conductivity_s_m
    )
    return np.asarray(np.sqrt(wavenumber_per_m**2 + eddy), dtype=np.complex128)


def _magnetic_step(
    outer: ComplexArray, outer_mu: float, inner: ComplexArray, inner_mu: float
) -> ComplexArray:
    front, back = inner_mu * outer, outer_mu * inner
    return np.asarray((front - back) / (front + back), dtype=np.complex128)
