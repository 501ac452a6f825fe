"""Sensors and targets by short name. Knows no mechanics; invented figures.

The scene is incoming inspection at a maker of grain-handling equipment: level
sensors in 18 mm housings, end-position sensors in 8 mm ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from sim.materials import MATERIALS
from sim.sensors.capacitive import CapacitiveHead
from sim.sensors.inductive import InductiveHead
from sim.sensors.response import SimSensor
from sim.targets import SimTarget, cell, plate

# The standard's target is 1 mm of carbon steel (IEC 60947-5-2, from memory).
_STEEL: Final = plate(MATERIALS["steel"], 1.0)

_TARGETS = (
    _STEEL,
    plate(MATERIALS["steel"], 1.0, earthed=False, name="steel-unearthed"),
    plate(MATERIALS["stainless"], 1.0),
    plate(MATERIALS["brass"], 1.0),
    plate(MATERIALS["aluminium"], 1.0),
    plate(MATERIALS["copper"], 1.0),
    plate(MATERIALS["pvc"], 3.0),
    plate(MATERIALS["glass"], 4.0),
    plate(MATERIALS["plywood"], 9.0),
    plate(MATERIALS["cardboard"], 2.0),
    cell(MATERIALS["pp"], 0.5, MATERIALS["wheat"], 60.0),
    cell(MATERIALS["pp"], 0.5, MATERIALS["water"], 60.0),
)

TARGETS: Mapping[str, SimTarget] = MappingProxyType({t.name: t for t in _TARGETS})

_CAPACITIVE_RADIUS_MM = 9.0
_INDUCTIVE_RADIUS_MM = 3.0  # = s_n; with 3 mm the factors are in the trade's ranges

_SENSORS = (
    SimSensor(
        name="capacitive",
        head=CapacitiveHead(radius_mm=_CAPACITIVE_RADIUS_MM),
        rated_mm=8.0,
        reference=_STEEL,
        operate_at_mm=8.0,
        hysteresis=0.324,
        noise_sigma_mm=0.004,
        tau_on_s=0.004,
        tau_off_s=0.005,
        start_s=0.060,
    ),
    SimSensor(
        name="inductive",
        head=InductiveHead(radius_mm=_INDUCTIVE_RADIUS_MM),
        rated_mm=3.0,
        reference=_STEEL,
        operate_at_mm=_INDUCTIVE_RADIUS_MM,
        hysteresis=0.107,
        noise_sigma_mm=0.002,
        tau_on_s=0.0005,
        tau_off_s=0.0005,
        start_s=0.012,
    ),
)

SENSORS: Mapping[str, SimSensor] = MappingProxyType({s.name: s for s in _SENSORS})
