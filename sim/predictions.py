"""Predicted operate points over a property of the material, as a data file.

For a class that puts measured distances beside computed ones. Noise-free; knows no
axis and no delay. `python -m sim.predictions capacitive > predicted_capacitive.csv`
"""

from __future__ import annotations

import sys
from typing import Final

import numpy as np

from sim.materials import Material
from sim.presets import SENSORS
from sim.sensors.response import SimSensor
from sim.targets import plate

DEPTH_MM: Final = 60.0  # of the dielectric; as deep as the cells
SHEET_MM: Final = 1.0  # of the metal; as thick as the standard target
PERMITTIVITIES: Final = np.geomspace(1.2, 100.0, 45)
CONDUCTIVITIES_S_M: Final = np.geomspace(2e5, 6e7, 34)

_NOTES: Final = {
    "capacitive": f"dielectric without loss, {DEPTH_MM:g} mm deep, no wall, no earth",
    "inductive": f"metal that is not magnetic, {SHEET_MM:g} mm thick",
}


def operate_points(name: str) -> list[tuple[float, float]]:
    """Return (property, operate gap in mm) for each value at which the sensor operates.

    Args:
        name: "capacitive" (over relative permittivity) or "inductive" (over
            conductivity, S/m).

    Raises:
        ValueError: The sensor is another one.
    """
    if name not in _NOTES:
        raise ValueError(f"no prediction for {name!r}; one of {', '.join(_NOTES)}")
    values = PERMITTIVITIES if name == "capacitive" else CONDUCTIVITIES_S_M
    sensor = SENSORS[name]
    points = [
        (float(value), _operate_mm(sensor, name, float(value))) for value in values
    ]
    return [(value, gap) for value, gap in points if gap is not None]


def _operate_mm(sensor: SimSensor, name: str, value: float) -> float | None:
    if name == "capacitive":
        material = Material(name="dielectric", relative_permittivity=value)
        target = plate(material, DEPTH_MM)
    else:
        metal = Material(name="metal", conductivity_s_m=value, is_metal=True)
        target = plate(metal, SHEET_MM)
    return sensor.response(target).operate_gap_mm


def as_csv(name: str) -> str:
    """Return the text of the data file.

    Args:
        name: As for `operate_points`.

    Raises:
        ValueError: The sensor is another one.
    """
    points = operate_points(name)
    sensor = SENSORS[name]
    over = "relative_permittivity" if name == "capacitive" else "conductivity_s_m"
    lines = [
        "# SIMULATED: computed by the physics of the simulated rig, noise-free",
        f"# sensor: {name}, s_n {sensor.rated_mm:g} mm,"
        f" {sensor.operate_at_mm:g} mm on the standard target",
        f"# target: {_NOTES[name]}",
        f"{over},operate_mm",
    ]
    lines += [f"{value:.6g},{gap:.4f}" for value, gap in points]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(as_csv(*sys.argv[1:2]))
