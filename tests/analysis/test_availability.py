"""Time delay before availability and false signals.

Held against IEC 60947-5-2, 300 ms and 2 ms, both from memory.
"""

from __future__ import annotations

import pytest

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.availability import availability_of
from rig.errors import InputError
from rig.model.mounted import OutputKind
from rig.model.switch_on import SwitchOn
from tests import builders

NO = builders.sensor(output=OutputKind.NORMALLY_OPEN)
NC = builders.sensor(output=OutputKind.NORMALLY_CLOSED)


def on(*changes_ms: float, near: bool = True, begins_us: int = 1000) -> SwitchOn:
    """Return a switching after which the output rises, falls, rises at these times."""
    return SwitchOn(
        before_target=near,
        switched_us=begins_us,
        edges=tuple(
            (number % 2 == 0, (begins_us + round(1e3 * at)) % 2**32)
            for number, at in enumerate(changes_ms)
        ),
    )


def decisions(*switchings: SwitchOn, sensor=NO) -> list[Decision]:
    found = availability_of(switchings, sensor)
    return [verdict.decision for verdict in found.verdicts]


def test_the_longest_delay_counts_and_the_mean_stands_beside_it() -> None:
    found = availability_of([on(10.0), on(14.0), on(12.0)], NO)

    assert found.delay is not None
    assert (found.delay.value, found.mean_ms) == (14.0, 12.0)
    assert found.delay.standard_deviation == pytest.approx(2.0)
    assert found.delay.n == 3


def test_the_uncertainty_is_that_of_three_rectangles() -> None:
    """GUM (JCGM 100:2008) 4.3.7: half-width over the root of 3, summed in squares."""
    delay = availability_of([on(40.0)], NO).delay

    assert delay is not None
    by_hand = 2.0 * (0.01**2 / 3 + 0.01**2 / 3 + 0.05**2 / 3) ** 0.5
    assert delay.expanded_uncertainty == pytest.approx(by_hand)


@pytest.mark.parametrize(
    ("delay_ms", "decision"),
    [
        (299.9, Decision.CONFORMS),
        (300.0, Decision.UNDECIDED),
        (300.1, Decision.DOES_NOT_CONFORM),
    ],
)
def test_the_standard_s_delay_is_the_limit(delay_ms: float, decision: Decision) -> None:
    assert decisions(on(delay_ms))[0] is decision


def test_a_data_sheet_s_delay_stands_in_its_place() -> None:
    fast = builders.sensor(time_delay_before_availability_ms=50.0)

    found = availability_of([on(60.0)], fast)

    assert found.verdicts[0].decision is Decision.DOES_NOT_CONFORM
    assert found.verdicts[0].limits.source == "data sheet"


@pytest.mark.parametrize(
    ("pulse_ms", "decision"),
    [
        (1.9, Decision.CONFORMS),
        (2.0, Decision.UNDECIDED),
        (2.1, Decision.DOES_NOT_CONFORM),
    ],
)
@pytest.mark.parametrize("near", [True, False])
def test_a_signal_of_more_than_2_ms_is_false(
    pulse_ms: float, decision: Decision, near: bool
) -> None:
    ends = (20.0,) if near else ()
    pulsed = on(5.0, 5.0 + pulse_ms, *ends, near=near)

    assert decisions(on(10.0), pulsed)[-1] is decision


def test_a_pulse_before_the_target_is_no_delay() -> None:
    found = availability_of([on(5.0, 6.0, 30.0)], NO)

    assert found.delay is not None
    assert found.delay.value == 30.0
    assert (found.false_signals, found.false_signal.value) == (1, 1.0)


def test_an_output_that_does_not_come_on_or_stays_on_is_counted() -> None:
    found = availability_of([on(), on(10.0), on(10.0, near=False)], NO)

    assert (found.never, found.n) == (2, 3)
    assert found.delay is not None
    assert found.delay.n == 1


def test_an_output_that_never_comes_on_has_no_delay() -> None:
    found = availability_of([on(), on(near=False)], NO)

    assert found.delay is None
    assert len(found.verdicts) == 1


def test_a_normally_closed_output_shows_it_away_from_the_target() -> None:
    found = availability_of([on(12.0, near=False), on(near=True)], NC)

    assert found.never == 0
    assert found.delay is not None
    assert found.delay.value == 12.0


def test_the_clock_may_wrap_in_between() -> None:
    found = availability_of([on(12.0, begins_us=2**32 - 5000)], NO)

    assert found.delay is not None
    assert found.delay.value == pytest.approx(12.0)


def test_without_a_place_where_it_comes_on_nothing_shows() -> None:
    with pytest.raises(InputError, match="never had to come on"):
        availability_of([on(near=False)], NO)
