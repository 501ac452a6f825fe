"""Invented products: one as a file has it, one as the rest of the software knows it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from rig.model.mounted import DataSheetLimit, OutputKind, Principle, Sensor, Target
from rig.model.product import Bounds, ProductSpecification, Sampling

PRODUCTS = """
[[product]]
name = "CL-18-8"
principle = "capacitive"
size_mm = 18
rated_distance_mm = 8
output = "NO"
switching_frequency_hz = 50
temperature_c = { lower = 18, upper = 28 }
supply_v = { lower = 10, upper = 30 }

[product.limits]
s_r = { lower = 0.95, upper = 1.05 }
H = { upper = 0.15 }

[product.target]
material = "steel"
thickness_mm = 1
side_mm = 24
earthed = true

[product.sampling]
aql_percent = 1.0
level = "II"
"""


def specification(**changes: Any) -> ProductSpecification:
    """Return what `PRODUCTS` specifies."""
    found = ProductSpecification(
        sensor=Sensor(
            name="CL-18-8",
            principle=Principle.CAPACITIVE,
            size_mm=18.0,
            rated_distance_mm=8.0,
            output=OutputKind.NORMALLY_OPEN,
            switching_frequency_hz=50.0,
            data_sheet_limits=(
                DataSheetLimit(symbol="s_r", lower=0.95, upper=1.05),
                DataSheetLimit(symbol="H", upper=0.15),
            ),
        ),
        target=Target(
            name="", material="steel", thickness_mm=1.0, earthed=True, side_mm=24.0
        ),
        temperature_c=Bounds(lower=18.0, upper=28.0),
        supply_v=Bounds(lower=10.0, upper=30.0),
        sampling=Sampling(
            method="attributes",
            aql_percent=1.0,
            level="II",
            sample=None,
            figure="operate",
        ),
    )
    return replace(found, **changes)
