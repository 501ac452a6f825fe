"""What tables say of materials, as far as theory needs it.

The ranges are what a class can look up: trade and textbook tables, from memory. They
say nothing of the very plate on the bench.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from rig.analysis.classroom.predicted_curve import Property
from rig.model.mounted import Principle

PROPERTY_OF: Final = MappingProxyType(
    {
        Principle.CAPACITIVE: Property.PERMITTIVITY,
        Principle.INDUCTIVE: Property.CONDUCTIVITY,
    }
)
PROPERTY_RANGES: Final = MappingProxyType(
    {
        # Of solids and liquids at 0.1 to 1 MHz
        Property.PERMITTIVITY: MappingProxyType(
            {
                "pvc": (3.0, 3.5),
                "pp": (2.2, 2.2),
                "pe": (2.3, 2.3),
                "glass": (5.0, 8.0),
                "plywood": (2.0, 3.0),
                "cardboard": (2.0, 3.5),
                "oil": (2.1, 2.3),
                "water": (78.0, 80.0),
            }
        ),
        # S/m; copper and its alloys, steel by the textbook's middle of the road
        Property.CONDUCTIVITY: MappingProxyType(
            {
                "stainless": (1.3e6, 1.5e6),
                "brass": (1.4e7, 1.7e7),
                "aluminium": (3.2e7, 3.8e7),
                "copper": (5.7e7, 6.0e7),
            }
        ),
    }
)
MAGNETIC: Final = frozenset({"steel"})
METALS: Final = frozenset(PROPERTY_RANGES[Property.CONDUCTIVITY]) | MAGNETIC
