"""Materials that targets are made of. Knows no geometry and no sensor.

Permittivities of solids are ranges in nature; one value of each range stands
here. Where a comment says "from memory", the source was not opened.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What a sensor's field can tell of a material.

    Attributes:
        name: Short name, lower case.
        relative_permittivity: Real part at 0.1 to 1 MHz, 1 or more; not used for
            metals.
        conductivity_s_m: Siemens per metre, 0 or more.
        relative_permeability: 1 or more.
        is_metal: A metal holds its surface at one potential.
    """

    name: str
    relative_permittivity: float = 1.0
    conductivity_s_m: float = 0.0
    relative_permeability: float = 1.0
    is_metal: bool = False

    def __post_init__(self) -> None:
        """Refuse what no passive material has."""
        if self.relative_permittivity < 1.0:
            raise ValueError(f"{self.name}: relative_permittivity must be 1 or more")
        if self.relative_permeability < 1.0:
            raise ValueError(f"{self.name}: relative_permeability must be 1 or more")
        if self.conductivity_s_m < 0.0:
            raise ValueError(f"{self.name}: conductivity_s_m must be 0 or more")


def water_permittivity(temperature_c: float) -> float:
    """Return the static relative permittivity of water, 0 to 100 °C.

    Malmberg and Maryott, J. Res. NBS 56, RP2641 (1956): largest deviation 0.01.

    Raises:
        ValueError: The temperature is outside 0 to 100 °C.
    """
    if not 0.0 <= temperature_c <= 100.0:
        raise ValueError(f"temperature_c must be 0..100, got {temperature_c}")
    t = temperature_c
    return 87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3


def _metal(name: str, conductivity_ms_m: float, permeability: float = 1.0) -> Material:
    return Material(
        name=name,
        conductivity_s_m=conductivity_ms_m * 1e6,
        relative_permeability=permeability,
        is_metal=True,
    )


_ALL = (
    # Conductivities from memory of non-destructive testing tables. Permeability of
    # steel depends on field and batch; 100 stands for plain carbon steel.
    _metal("steel", 6.0, 100.0),
    _metal("stainless", 1.39),  # 304, not cold worked
    _metal("brass", 15.5),
    _metal("aluminium", 35.0),
    _metal("copper", 58.0),  # 100 % IACS
    # Dry, loss left out. Hayt and Buck, Engineering Electromagnetics, appendix C,
    # and trade tables, from memory.
    Material(name="pvc", relative_permittivity=3.2),
    Material(name="pp", relative_permittivity=2.2),
    Material(name="pe", relative_permittivity=2.3),
    Material(name="glass", relative_permittivity=7.0),  # float glass, range 5 to 8
    Material(name="plywood", relative_permittivity=2.2),  # dry wood, range 2 to 3
    Material(name="cardboard", relative_permittivity=3.0),  # solid, range 2 to 3.5
    Material(name="wheat", relative_permittivity=3.0),  # bulk grain, dry, from memory
    # Tap water: conductivity from memory, 0.02 to 0.08 S/m is usual.
    Material(
        name="water",
        relative_permittivity=water_permittivity(20.0),
        conductivity_s_m=0.05,
    ),
)

MATERIALS: Mapping[str, Material] = MappingProxyType({m.name: m for m in _ALL})
