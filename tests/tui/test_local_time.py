"""Times of the screens on a wall that is not in UTC."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from rig.tui.state.local_time import local_cell, local_time, with_local_times

EVENING = datetime(2031, 3, 4, 23, 30, 5, tzinfo=UTC)


@pytest.fixture
def wall(monkeypatch: pytest.MonkeyPatch, zone: str) -> Iterator[None]:
    monkeypatch.setitem(os.environ, "TZ", zone)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


# Zones as POSIX writes them: hours to be added to get UTC (IEEE Std 1003.1, TZ)
@pytest.mark.usefixtures("wall")
@pytest.mark.parametrize(
    ("zone", "words", "cell"),
    [
        ("UTC0", "2031-03-04 23:30 UTC", "2031-03-04 23:30"),
        (
            "EST5",
            "2031-03-04 18:30 (23:30 UTC)",
            "2031-03-04 18:30 (23:30)",
        ),
        (
            "IST-5:30",
            "2031-03-05 05:00 (03-04 23:30 UTC)",
            "2031-03-05 05:00 (03-04 23:30)",
        ),
    ],
)
def test_the_time_of_the_wall_stands_beside_utc(words: str, cell: str) -> None:
    assert local_time(EVENING) == words
    assert local_cell(EVENING) == cell
    assert local_time(EVENING.replace(tzinfo=None)) == words


@pytest.mark.usefixtures("wall")
@pytest.mark.parametrize(
    ("zone", "text"),
    [
        ("UTC0", "begun 2031-03-04 23:30:05 UTC, by Kim"),
        ("EST5", "begun 2031-03-04 18:30 (23:30 UTC), by Kim"),
    ],
)
def test_times_in_a_text_get_the_local_time_and_the_rest_stays(text: str) -> None:
    assert with_local_times("begun 2031-03-04 23:30:05 UTC, by Kim") == text
