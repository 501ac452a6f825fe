"""What is written down with a run: who, which part, how warm, and a note."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rig.errors import InputError

if TYPE_CHECKING:
    from rig.model.product import ProductVersion
    from rig.procedures.run_order import RunOrder

_COLDEST_C, _WARMEST_C = -50.0, 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Particulars:
    """As they go with the next run.

    Attributes:
        operator: Who answers for it; may be empty.
        part: Serial or sample number of the sensor; may be empty.
        temperature_c: Ambient temperature; None if it is not known.
        note: Free text; may be empty.
        product: Product that the sensor on the bench should be; None if nobody named
            one. Pairs of a plan and parts of a lot have their own.
    """

    operator: str = ""
    part: str = ""
    temperature_c: float | None = None
    note: str = ""
    product: ProductVersion | None = None

    def beside_part(self) -> str:
        """Return all but the part, in one line."""
        warm = "–" if self.temperature_c is None else f"{self.temperature_c:g} °C"
        shown = (
            ("at", warm),
            ("operator", self.operator or "–"),
            ("note", self.note or "–"),
            *([] if self.product is None else [("product", self.product.title)]),
        )
        return "  ".join(f"{name} {value}" for name, value in shown)

    def beside(self, order: RunOrder) -> RunOrder:
        """Return an order with these written down beside it.

        A part that the order names itself stays; it comes from a plan or a lot.
        """
        return replace(
            order,
            operator=self.operator,
            part=order.part or self.part,
            temperature_c=self.temperature_c,
            note=self.note,
        )


def temperature_of(text: str) -> float | None:
    """Return the temperature that somebody typed; None for nothing.

    Raises:
        InputError: It is no number, or none that a bench can have.
    """
    if not text.strip():
        return None
    try:
        temperature_c = float(text.replace(",", "."))
    except ValueError as exc:
        raise InputError(
            f"temperature is {text!r}: give a number in °C, such as 21.5"
        ) from exc
    check_temperature(temperature_c, "temperature")
    return temperature_c


def check_temperature(temperature_c: float, where: str) -> None:
    """Let only a temperature pass that a bench can have.

    Args:
        temperature_c: Ambient temperature, °C.
        where: What it is, for the message.

    Raises:
        InputError: It is out of range, or no number at all.
    """
    if not _COLDEST_C <= temperature_c <= _WARMEST_C:
        raise InputError(
            f"{where} is {temperature_c:g}: give the ambient temperature in °C, "
            f"{_COLDEST_C:g} to {_WARMEST_C:g}"
        )
