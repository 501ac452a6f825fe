from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.model.figures import Figure
from rig.model.rounding import (
    format_decimals,
    format_degrees_of_freedom,
    format_figure,
    format_significant,
    round_to_uncertainty,
)


def figure(value: float, uncertainty: float | None, **changes) -> Figure:
    fields = {
        "value": value,
        "unit": "mm",
        "expanded_uncertainty": uncertainty,
        "coverage_factor": None if uncertainty is None else 2.262157,
        "effective_degrees_of_freedom": None if uncertainty is None else 9.7,
        "standard_deviation": 0.0021437,
        "n": 10,
        "why_none": "one sweep shows no scatter" if uncertainty is None else "",
    }
    return Figure(**(fields | changes))


@pytest.mark.parametrize(
    ("value", "uncertainty", "expected"),
    [
        # JCGM 100:2008 (GUM), 7.2.4 and 7.2.2: 100.021 47 g, U = 0.000 79 g
        (100.02147, 0.00079, ("100.02147", "0.00079")),
        # JCGM 100:2008 (GUM), 7.2.6: y = 10.057 62 ohm, u_c = 27 mohm gives 10.058 ohm
        (10.05762, 0.027, ("10.058", "0.027")),
        (4.00034, 0.00421, ("4.0003", "0.0042")),
        (4.0, 0.0042, ("4.0000", "0.0042")),
        (-0.01234, 0.0042, ("-0.0123", "0.0042")),
        # What rounds to nothing has no sign
        (-0.00001, 0.0042, ("0.0000", "0.0042")),
        (0.0, 0.0042, ("0.0000", "0.0042")),
        # A carry leaves two digits, not three
        (4.0004, 0.00996, ("4.000", "0.010")),
        (4.0004, 0.0996, ("4.00", "0.10")),
        (4.0004, 9.96, ("4", "10")),
        # An uncertainty above 100 rounds off whole digits too
        (12345.6, 234.0, ("12350", "230")),
        (12345.6, 996.0, ("12300", "1000")),
        (0.4, 17.0, ("0", "17")),
        # Halves as one reads them, to the even digit
        (1.00025, 0.0012, ("1.0002", "0.0012")),
        (1.00035, 0.0012, ("1.0004", "0.0012")),
        (1.0, 0.00125, ("1.0000", "0.0012")),
        (5e-7, 2.5e-7, ("0.00000050", "0.00000025")),
    ],
)
def test_value_is_rounded_to_two_digits_of_its_uncertainty(
    value, uncertainty, expected
) -> None:
    assert round_to_uncertainty(value, uncertainty) == expected


def test_uncertainty_of_nought_rounds_nothing() -> None:
    assert round_to_uncertainty(4.00012345, 0.0) == ("4.00012345", "0")


@given(
    value=st.floats(-1e9, 1e9),
    uncertainty=st.floats(1e-9, 1e6),
)
def test_rounding_stays_within_half_of_the_last_digit(value, uncertainty) -> None:
    text, rounded = round_to_uncertainty(value, uncertainty)

    # Two significant digits: the last is at most a tenth of the uncertainty
    assert float(rounded) == pytest.approx(uncertainty, rel=0.0501)
    assert abs(float(text) - value) <= 0.0501 * uncertainty + 1e-15 * abs(value)
    assert "e" not in (text + rounded).lower()
    assert len(rounded.replace(".", "").strip("0") or "0") <= 2
    if float(rounded) < 10.0:
        assert text.partition(".")[2].__len__() == rounded.partition(".")[2].__len__()


def test_figure_names_unit_n_and_factor() -> None:
    text = format_figure(figure(4.00034, 0.00421))

    assert str(text) == "(4.0003 ± 0.0042) mm, k = 2.26, n = 10"
    assert (text.unit, text.n, text.degrees_of_freedom) == ("mm", "10", "9")
    assert text.standard_deviation == "0.0021"
    assert text.why_none == ""


def test_minus_is_the_plain_hyphen() -> None:
    assert str(format_figure(figure(-0.0123, 0.0042))).startswith("(-0.0123 ± ")


def test_figure_without_uncertainty_says_why() -> None:
    text = format_figure(figure(0.0056789, None))

    assert text.value == "0.0057"
    assert text.expanded_uncertainty == text.coverage_factor == ""
    assert str(text) == (
        "0.0057 mm, n = 10, no uncertainty: one sweep shows no scatter"
    )


@pytest.mark.parametrize(
    ("unit", "expected"),
    [("mm", "12.3457"), ("%", "12.35"), ("ms", "12.346"), ("pF", "12.35")],
)
def test_value_without_uncertainty_is_rounded_by_its_unit(unit, expected) -> None:
    assert format_figure(figure(12.345678, None, unit=unit)).value == expected


def test_figure_with_neither_uncertainty_nor_word_is_refused() -> None:
    with pytest.raises(ValueError, match="words why"):
        format_figure(figure(4.0, None, why_none=""))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(bad) -> None:
    with pytest.raises(ValueError, match="finite"):
        round_to_uncertainty(bad, 0.1)
    with pytest.raises(ValueError, match="finite"):
        round_to_uncertainty(1.0, abs(bad))
    with pytest.raises(ValueError, match="finite"):
        format_significant(bad)


def test_negative_uncertainty_is_refused() -> None:
    with pytest.raises(ValueError, match="not negative"):
        round_to_uncertainty(1.0, -0.1)


@pytest.mark.parametrize(
    ("nu", "expected"),
    [(math.inf, "∞"), (9.99, "9"), (9.0, "9"), (8.999999999999998, "9"), (1.0, "1")],
)
def test_degrees_of_freedom_are_whole_or_without_end(nu, expected) -> None:
    assert format_degrees_of_freedom(nu) == expected


def test_plain_numbers_keep_no_exponent_and_no_sign_of_nought() -> None:
    assert format_significant(0.00001234) == "0.000012"
    assert format_significant(123456.0) == "120000"
    assert format_significant(0.0) == "0"
    assert format_significant(-0.0) == "0"
    assert format_decimals(-0.0004, 3) == "0.000"
