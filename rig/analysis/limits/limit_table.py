"""Limits as a standard or a data sheet states them; knows no figure."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from rig.analysis.limits.verdict import Limits
from rig.errors import InputError
from rig.model.mounted import Principle, Sensor


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitEntry:
    """One limit as its source states it.

    Attributes
    ----------
    symbol : str
        s_r, s_u, s_a, H or R.
    name : str
        Name of the quantity in words.
    lower : Decimal or None
        Lower limit, as a share of the reference; None without one.
    upper : Decimal or None
        Upper limit, as a share of the reference; None without one.
    reference : str
        "s_n" or "s_r".
    document : str
        Standard or data sheet.
    edition : str
        Edition of the document; empty for a data sheet.
    clause : str
        Clause of the document; empty for a data sheet.
    basis : str
        "from memory" or "read in the document"; empty for a data sheet.
    inclusive : bool
        Whether a figure exactly on a limit is still allowed.
    """

    symbol: str
    name: str
    lower: Decimal | None
    upper: Decimal | None
    reference: str
    document: str
    edition: str
    clause: str
    basis: str
    inclusive: bool = True

    @property
    def source(self) -> str:
        """The source in words, for a verdict."""
        said = (self.document, self.clause, self.basis)
        return ", ".join(words for words in said if words)

    def limits(self, *, scale: float = 1.0, unit: str = "1") -> Limits:
        """Return the limits in a unit.

        Parameters
        ----------
        scale : float
            The reference in that unit; 1 for a share, 100 for per cent.
        unit : str
            Unit of the scale.
        """
        # Decimal keeps 0.9 x 4 at 3.6
        by = Decimal(repr(float(scale)))
        return Limits(
            lower=-math.inf if self.lower is None else float(self.lower * by),
            upper=math.inf if self.upper is None else float(self.upper * by),
            unit=unit,
            source=self.source,
            inclusive=self.inclusive,
        )


@cache
def _standard() -> dict[str, Any]:
    text = files("rig.analysis").joinpath("data/iec_60947_5_2.toml").read_text("utf-8")
    return tomllib.loads(text)


def standard_limits(principle: Principle) -> dict[str, LimitEntry]:
    """Limits of the standard for one principle.

    Parameters
    ----------
    principle : Principle
        How the sensor senses.

    Returns
    -------
    dict of str to LimitEntry
        By symbol: s_r, s_u, s_a, H, R.

    Notes
    -----
    IEC 60947-5-2, figures and clauses from memory; see the data file.
    """
    data = _standard()
    return {
        row["symbol"]: LimitEntry(
            symbol=row["symbol"],
            name=row["name"],
            lower=Decimal(row["lower"]) if "lower" in row else None,
            upper=Decimal(row["upper"]) if "upper" in row else None,
            reference=row["reference"],
            document=data["document"],
            edition=data["edition"],
            clause=row["clause"],
            basis=data["basis"],
        )
        for row in data["limit"]
        if principle.value in row["principles"]
    }


def limits_for(
    sensor: Sensor, data_sheet: Mapping[str, tuple[float | None, float | None]]
) -> dict[str, LimitEntry]:
    """Limits of the standard, overridden by those that a data sheet states itself.

    Parameters
    ----------
    sensor : Sensor
        Sensor whose principle picks the table.
    data_sheet : mapping of str to (lower, upper)
        Limits by symbol, as shares of the same reference as in the standard; may be
        empty.

    Returns
    -------
    dict of str to LimitEntry
        By symbol; what came from the data sheet says so.

    Raises
    ------
    InputError
        If a symbol is unknown or a limit is not a share above 0.
    """
    table = standard_limits(sensor.principle)
    for symbol, (lower, upper) in data_sheet.items():
        if symbol not in table:
            raise InputError(
                f"data sheet of {sensor.name}: no figure is called {symbol!r}",
                hint=f"one of {', '.join(table)}",
            )
        given = [share for share in (lower, upper) if share is not None]
        if not given or any(not 0.0 < share < 10.0 for share in given):
            raise InputError(
                f"data sheet of {sensor.name}: limits {lower} to {upper} of {symbol}"
                " are invalid",
                hint=f"give shares of {table[symbol].reference}, such as 0.9 and 1.1",
            )
        table[symbol] = replace(
            table[symbol],
            lower=None if lower is None else Decimal(repr(float(lower))),
            upper=None if upper is None else Decimal(repr(float(upper))),
            document=f"data sheet of {sensor.name}",
            edition="",
            clause="",
            basis="",
        )
    return table
