from __future__ import annotations

import dataclasses
from datetime import UTC, datetime, timedelta, timezone
from types import ModuleType

from hypothesis import given
from hypothesis import strategies as st

from rig.model.mounted import Axis
from rig.records.mapping import conditions_of, json_text, time_of, time_text

ZONES = st.integers(-23 * 60, 23 * 60).map(lambda m: timezone(timedelta(minutes=m)))
# A day from either end, so that the moment is in the calendar in every zone
TIMES = st.datetimes(
    datetime(1, 1, 3), datetime(9999, 12, 29), timezones=st.one_of(ZONES)
)
NUMBERS = st.floats(allow_nan=False)


@given(TIMES, TIMES)
def test_times_come_back_and_sort_as_text(one: datetime, other: datetime) -> None:
    assert time_of(time_text(one)) == one
    assert time_of(time_text(one)).tzinfo is UTC
    assert len(time_text(one)) == 27
    assert (time_text(one) < time_text(other)) == (one < other)


@given(st.floats(allow_nan=False, allow_infinity=False), NUMBERS, st.text())
def test_conditions_come_back_to_the_last_digit(
    samples: ModuleType, scale: float, freedom: float, note: str
) -> None:
    plain = samples.conditions(note=note)
    conditions = dataclasses.replace(
        plain,
        axis=Axis(steps_per_mm=scale, standard_uncertainty_mm=scale / 3),
        datum=dataclasses.replace(plain.datum, degrees_of_freedom=freedom),
        temperature_c=None,
    )

    text = json_text(dataclasses.asdict(conditions))

    assert conditions_of(text) == conditions
