"""Product specifications: what a sensor should be, and under what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rig.model.mounted import Sensor, Target


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """Range that a condition has to lie in, both ends included.

    Attributes:
        lower: Lower end, in the unit that the field's name says.
        upper: Upper end, in the same unit; not below `lower`.
    """

    lower: float
    upper: float

    def holds(self, value: float) -> bool:
        """Return whether a value lies in the range."""
        return self.lower <= value <= self.upper


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampling:
    """How lots of a product are sampled.

    Attributes:
        method: "attributes" or "variables".
        aql_percent: Acceptance quality limit; None for zero acceptance.
        level: Inspection level, of zero acceptance the verification level; empty where
            the sample is said.
        sample: Number of parts to measure by variables; None where the table gives it.
        figure: Option name of the figure that is kept with each part.
        plan_kind: "single", "double" or "zero", by attributes.
    """

    method: str
    aql_percent: float | None
    level: str
    sample: int | None
    figure: str
    plan_kind: str = "single"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductSpecification:
    """What a sensor should be.

    Attributes:
        sensor: The sensor as its data sheet has it, with its limits; named after the
            product.
        target: Target that the limits hold for; its side is the least that does.
        temperature_c: Ambient temperature that they hold at.
        supply_v: Supply voltage that they hold at; None for any.
        sampling: How lots are sampled; None to say it for each lot.
    """

    sensor: Sensor
    target: Target
    temperature_c: Bounds
    supply_v: Bounds | None = None
    sampling: Sampling | None = None

    @property
    def name(self) -> str:
        """Name of the product."""
        return self.sensor.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """Who approved a version of a product specification, and when.

    Attributes:
        approved_by: Name of whoever approved it.
        approved_at: When, UTC.
    """

    approved_by: str
    approved_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ProductVersion:
    """One version of a product specification; it never changes.

    Attributes:
        version: Counts the versions of the product, from 1.
        specification: What the sensor should be.
        entered_by: Name of whoever entered it.
        entered_at: When, UTC.
        approval: Who approved it; None as long as nobody did.
    """

    version: int
    specification: ProductSpecification
    entered_by: str
    entered_at: datetime
    approval: Approval | None = None

    @property
    def name(self) -> str:
        """Name of the product."""
        return self.specification.name

    @property
    def title(self) -> str:
        """Name and version, as a sentence has them."""
        return f"{self.name}, version {self.version}"
