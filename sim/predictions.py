"""Operate points that theory predicts for plates, as tables for a data file.

For a class that puts measured distances beside computed ones. Noise-free; knows no
axis and no delay. `python -m sim.predictions capacitive > predicted_capacitive.csv`
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from sim.materials import Material
from sim.presets import SENSORS
from sim.sensors.response import SimSensor
from sim.targets import SimTarget, plate


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Which operate points are computed: all combinations of sensor, plate, material.

    Attributes:
        over: Name of the material's property along a row, with its unit.
        plate: What the plate is, in words.
        housing_mm: Size of the housing that the simulated sensor stands for.
        sizes_mm: Sizes of the housing; one only where the physics has no length of
            its own and everything scales with the size.
        ratios: Rated distances over the size.
        thicknesses: Thicknesses of the plate: in mm, or over the size where there is
            one size only.
        properties: Values of the material's property.
    """

    over: str
    plate: str
    housing_mm: float
    sizes_mm: tuple[float, ...]
    ratios: tuple[float, ...]
    thicknesses: tuple[float, ...]
    properties: tuple[float, ...]

    @property
    def scales(self) -> bool:
        """Whether one size stands for all."""
        return len(self.sizes_mm) == 1


def _steps(start: float, factor: float, below: int, above: int) -> tuple[float, ...]:
    return tuple(float(start * factor**k) for k in range(-below, above + 1))


# Each axis has the shipped sensor and the standard plates among its points
GRIDS: Final = {
    "capacitive": Grid(
        over="relative_permittivity",
        plate="a plate of a dielectric without loss, no wall, no earth behind it",
        housing_mm=18.0,
        sizes_mm=(18.0,),
        ratios=_steps(4.0 / 9.0, 4.0 / 3.0, 4, 3),
        thicknesses=_steps(1.0 / 6.0, 2.0, 4, 5),
        properties=tuple(np.geomspace(1.2, 100.0, 45).tolist()),
    ),
    "inductive": Grid(
        over="conductivity_s_m",
        plate="a plate of a metal that is not magnetic",
        housing_mm=8.0,
        sizes_mm=_steps(8.0, 1.5, 1, 4),
        ratios=_steps(0.375, 1.5, 3, 2),
        thicknesses=_steps(1.0, 2.0**0.5, 8, 4),
        properties=tuple(np.geomspace(1e6, 6e7, 34).tolist()),
    ),
}


def operate_over_rated(
    name: str, size_mm: float, ratio: float, thickness_mm: float, value: float
) -> float | None:
    """Return the operate point over s_n; None if the sensor never operates.

    Args:
        name: "capacitive" or "inductive".
        size_mm: Size of the sensor's housing.
        ratio: Rated distance over that size.
        thickness_mm: Thickness of the plate.
        value: Relative permittivity, or conductivity in S/m.

    Raises:
        ValueError: The sensor is another one.
    """
    sensor = _sensor(name, size_mm, ratio)
    gap_mm = sensor.response(_plate(name, thickness_mm, value)).operate_gap_mm
    return None if gap_mm is None else gap_mm / sensor.rated_mm


def _sensor(name: str, size_mm: float, ratio: float) -> SimSensor:
    if name not in GRIDS:
        raise ValueError(f"no prediction for {name!r}; one of {', '.join(GRIDS)}")
    base = SENSORS[name]
    radius_mm = base.head.radius_mm * size_mm / GRIDS[name].housing_mm
    rated_mm = ratio * size_mm
    return replace(
        base,
        head=replace(base.head, radius_mm=radius_mm),
        rated_mm=rated_mm,
        operate_at_mm=rated_mm,
    )


def _plate(name: str, thickness_mm: float, value: float) -> SimTarget:
    if name == "capacitive":
        material = Material(name="dielectric", relative_permittivity=value)
    else:
        material = Material(name="metal", conductivity_s_m=value, is_metal=True)
    return plate(material, thickness_mm)


def as_csv(name: str) -> str:
    """Return the text of the data file.

    Args:
        name: Name of the sensor, as for `operate_over_rated`.

    Raises:
        ValueError: The sensor is another one.
    """
    grid = GRIDS.get(name)
    if grid is None:
        raise ValueError(f"no prediction for {name!r}; one of {', '.join(GRIDS)}")
    axes = ["rated_over_size", "thickness_over_size" if grid.scales else "thickness_mm"]
    if not grid.scales:
        axes.insert(0, "size_mm")
    heads = [f"{grid.over}={value:.6g}" for value in grid.properties]
    lines = [
        "# SIMULATED: computed by the physics of the simulated rig, noise-free",
        f"# sensor: {name}, adjusted to operate at s_n on the standard target",
        f"# target: {grid.plate}",
        "# cells: operate point over s_n; empty where the sensor never operates",
        ",".join([*axes, *heads]),
    ]
    return "\n".join([*lines, *_rows(name, grid)]) + "\n"


def _rows(name: str, grid: Grid) -> Iterator[str]:
    for size_mm in grid.sizes_mm:
        cells = _cells(name, grid, size_mm)
        for i, j in itertools.product(
            range(len(grid.ratios)), range(len(grid.thicknesses))
        ):
            at = [grid.ratios[i], grid.thicknesses[j]]
            head = at if grid.scales else [size_mm, *at]
            values = ["" if c is None else f"{c:.5f}" for c in cells[i][j]]
            yield ",".join([*(f"{one:.6g}" for one in head), *values])


def _cells(
    name: str, grid: Grid, size_mm: float
) -> Sequence[Sequence[Sequence[float | None]]]:
    """Compute all cells of one size; of one plate all ratios, which share a table."""
    unit_mm = size_mm if grid.scales else 1.0
    found = [
        [
            [
                operate_over_rated(name, size_mm, ratio, thickness * unit_mm, value)
                for ratio in grid.ratios
            ]
            for value in grid.properties
        ]
        for thickness in grid.thicknesses
    ]
    return [
        [[cell[i] for cell in row] for row in found] for i in range(len(grid.ratios))
    ]


if __name__ == "__main__":
    sys.stdout.write(as_csv(*sys.argv[1:2]))
