"""Forecasts of time in words."""

from __future__ import annotations

import pytest

from rig.sheets.duration_words import duration_text, left_text


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (3, "a few seconds"),
        (44, "about 40 s"),
        (100, "about 2 min"),
        (3500, "about 58 min"),
        (8 * 3600 + 240, "about 8 h 04 min"),
    ],
)
def test_a_forecast_is_as_coarse_as_it_deserves(seconds: float, words: str) -> None:
    assert duration_text(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "words"), [(None, ""), (0.0, ""), (100.0, ", about 2 min left")]
)
def test_what_is_left_follows_other_words(seconds: float | None, words: str) -> None:
    assert left_text(seconds) == words
