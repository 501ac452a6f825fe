"""Figures as text, rounded by their uncertainty; knows no page and no screen.

Text is made to be copied: the minus is the plain hyphen, the decimal sign the point,
and nothing parts the thousands.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal

from rig.model.figures import Figure

# Rounding of a value that has no uncertainty to go by: 0.1 µm, 0.01 %, 1 µs
DECIMALS_WITHOUT_UNCERTAINTY = {"mm": 4, "%": 2, "ms": 3}
UNCERTAINTY_DIGITS = 2  # significant ones; GUM 7.2.6
_ALL_ZERO = "no contribution to it that is above 0 is known"
# Enough digits that quantizing never runs out of them for any float
_CONTEXT = Context(prec=700, rounding=ROUND_HALF_EVEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureText:
    """A figure in strings, all rounded alike.

    Attributes:
        value: Rounded to the decimals of the uncertainty.
        unit: Unit of value, uncertainty and standard deviation; empty for a ratio.
        expanded_uncertainty: Two significant digits, no sign; empty if there is none.
        coverage_factor: Empty if there is no uncertainty.
        degrees_of_freedom: Effective, whole or "∞"; empty if there is no uncertainty.
        standard_deviation: Standard deviation of a single reading; empty if there is
            none.
        n: Number of readings behind it.
        why_none: Why there is no uncertainty; empty if there is.
        pooled: Over how many runs its noise is pooled, in words; empty if it is not.
    """

    value: str
    unit: str
    expanded_uncertainty: str
    coverage_factor: str
    degrees_of_freedom: str
    standard_deviation: str
    n: str
    why_none: str
    pooled: str = ""

    @property
    def cell(self) -> str:
        """Value and uncertainty, for a column with the unit in its head."""
        if self.why_none:
            return f"{self.value} (no ±)"
        return f"{self.value} ± {self.expanded_uncertainty}"

    @property
    def brief(self) -> str:
        """Value, uncertainty and unit."""
        unit = f" {self.unit}" if self.unit else ""
        if self.why_none:
            return f"{self.value}{unit} (no ±)"
        return f"({self.value} ± {self.expanded_uncertainty}){unit}"

    @property
    def counts(self) -> str:
        """Coverage factor and number of readings."""
        pooled = f", {self.pooled}" if self.pooled else ""
        if self.why_none:
            return f"n = {self.n}{pooled}"
        return f"k = {self.coverage_factor}, n = {self.n}{pooled}"

    def __str__(self) -> str:
        if self.why_none:
            unit = f" {self.unit}" if self.unit else ""
            return f"{self.value}{unit}, {self.counts}, no uncertainty: {self.why_none}"
        return f"{self.brief}, {self.counts}"


def format_figure(figure: Figure) -> FigureText:
    """Put a figure into words that are fit for a screen or a page.

    The uncertainty is given to two significant digits and the value to the same
    decimals (JCGM 100:2008 (GUM), 7.2.6); the standard deviation to two of its own.

    Raises:
        ValueError: The value is not finite, or there is no uncertainty and no word why.
    """
    sd = figure.standard_deviation
    common = {
        "unit": unit_words(figure.unit),
        "standard_deviation": "" if sd is None else format_significant(sd),
        "n": str(figure.n),
        "pooled": (
            f"noise pooled over {figure.pooled_runs} runs" if figure.pooled_runs else ""
        ),
    }
    uncertainty = figure.expanded_uncertainty
    why_none = figure.why_none
    if uncertainty == 0.0:
        # Nothing measured is known exactly; earlier analyses stated it so
        uncertainty, why_none = None, why_none or _ALL_ZERO
    if uncertainty is None:
        if not why_none:
            raise ValueError(
                "a figure needs an uncertainty or the words why it has none"
            )
        return FigureText(
            value=format_without_uncertainty(figure.value, figure.unit),
            expanded_uncertainty="",
            coverage_factor="",
            degrees_of_freedom="",
            why_none=why_none,
            **common,
        )
    value, rounded = round_to_uncertainty(figure.value, uncertainty)
    factor, nu = figure.coverage_factor, figure.effective_degrees_of_freedom
    return FigureText(
        value=value,
        expanded_uncertainty=rounded,
        coverage_factor="" if factor is None else format_decimals(factor, 2),
        degrees_of_freedom="" if nu is None else format_degrees_of_freedom(nu),
        why_none="",
        **common,
    )


def unit_words(unit: str) -> str:
    """Return a unit as it is read: a ratio, whose unit is 1, has none."""
    return "" if unit == "1" else unit


def format_without_uncertainty(value: float, unit: str) -> str:
    """Round a value that has no uncertainty to go by, as its unit is read.

    Raises:
        ValueError: The value is not finite.
    """
    decimals = DECIMALS_WITHOUT_UNCERTAINTY.get(unit)
    if decimals is None:
        return format_significant(value, 4)
    return format_decimals(value, decimals)


def round_to_uncertainty(value: float, uncertainty: float) -> tuple[str, str]:
    """Round an uncertainty to two significant digits and a value to the same decimals.

    An uncertainty of 0 rounds nothing: the value keeps all its digits.

    Raises:
        ValueError: One of them is not finite, or the uncertainty is negative.
    """
    if uncertainty < 0.0:
        raise ValueError(f"an uncertainty is not negative, got {uncertainty}")
    exact = _decimal(value)
    if uncertainty == 0.0:
        return _plain(exact), "0"
    rounded = _round_significant(_decimal(uncertainty), UNCERTAINTY_DIGITS)
    return _plain(_quantize(exact, _exponent(rounded))), _plain(rounded)


def round_to_interval(value: float, lower: float, upper: float) -> tuple[str, str, str]:
    """Round a value and the ends of its interval by the nearer of the two ends.

    Raises:
        ValueError: One of them is not finite, or the value lies outside.
    """
    nearer = min(value - lower, upper - value)
    shown, _ = round_to_uncertainty(value, nearer)
    if nearer == 0.0:
        return shown, _plain(_decimal(lower)), _plain(_decimal(upper))
    exponent = _exponent(_round_significant(_decimal(nearer), UNCERTAINTY_DIGITS))
    low, high = (_plain(_quantize(_decimal(end), exponent)) for end in (lower, upper))
    return shown, low, high


def format_significant(value: float, digits: int = UNCERTAINTY_DIGITS) -> str:
    """Round to significant digits, without an exponent.

    Raises:
        ValueError: The value is not finite.
    """
    exact = _decimal(value)
    return "0" if exact == 0 else _plain(_round_significant(exact, digits))


def format_decimals(value: float, decimals: int) -> str:
    """Round to decimals.

    Raises:
        ValueError: The value is not finite.
    """
    return _plain(_quantize(_decimal(value), -decimals))


def format_chance(p: float) -> str:
    """Write a probability of a test to three decimals, which is never quite 0."""
    return "< 0.001" if p < 0.001 else format_decimals(p, 3)


def format_p(p: float) -> str:
    """Write the p of a test with its sign: "p = 0.824" or "p < 0.001"."""
    chance = format_chance(p)
    return f"p {chance}" if chance.startswith("<") else f"p = {chance}"


def signed(rounded: str) -> str:
    """Put a plus before a rounded value that has no minus."""
    return rounded if rounded.startswith("-") else f"+{rounded}"


def format_degrees_of_freedom(nu: float) -> str:
    """Write degrees of freedom as the coverage factor takes them: whole, or ∞."""
    if math.isinf(nu):
        return "∞"
    # The tiny factor keeps a whole number that rounding left just below itself
    return str(math.floor(nu * (1.0 + 1e-12)))


def _decimal(value: float) -> Decimal:
    if not math.isfinite(value):
        raise ValueError(f"{value} is not a finite number")
    # By way of the shortest text, so that 0.125 counts as the tie that one reads
    return Decimal(repr(float(value)))


def _round_significant(exact: Decimal, digits: int) -> Decimal:
    rounded = _quantize(exact, exact.adjusted() - digits + 1)
    # 0.0996 becomes 0.100, which is a digit too many
    return _quantize(rounded, rounded.adjusted() - digits + 1)


def _quantize(exact: Decimal, exponent: int) -> Decimal:
    return exact.quantize(Decimal((0, (1,), exponent)), context=_CONTEXT)


def _exponent(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int), "finite numbers have a whole exponent"
    return exponent


def _plain(number: Decimal) -> str:
    # A value that rounds to 0 has no sign
    return format(abs(number) if number == 0 else number, "f")
