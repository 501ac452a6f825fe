"""Time delay before availability and false signals, from switchings of the supply.

IEC 60947-5-2 (from memory): the sensor is available 300 ms after its supply at the
latest, and until then gives no false signal, which is one of more than 2 ms.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from rig.analysis.limits.verdict import Limits, Verdict, verdict
from rig.errors import InputError
from rig.model.figures import Figure
from rig.model.mounted import OutputKind, Sensor
from rig.model.switch_on import SwitchOn

STANDARD_DELAY_MS: Final = 300.0
FALSE_SIGNAL_MS: Final = 2.0
_STANDARD: Final = "IEC 60947-5-2, from memory"
# Both instants are exact to 10 us (SPEC.md 7, 11), and the switch takes 0.1 ms at most
_LATCHED_MS: Final = 0.01
_RISE_MS: Final = 0.1
_COVERAGE: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Availability:
    """What the switchings show.

    Attributes
    ----------
    delay : Figure or None
        Longest time delay before availability, ms; None where the output never came on
        to stay.
    mean_ms : float or None
        Mean of them; None likewise.
    false_signal : Figure
        Longest signal that the output gave before it was available, ms; 0 for none.
    false_signals : int
        Number of switchings with such a signal, of whatever length.
    never : int
        Number of switchings after which the output was not as it should be.
    n : int
        Number of switchings.
    verdicts : tuple of Verdict
        Decisions about the delay, where there is one, and about the false signal.
    """

    delay: Figure | None
    mean_ms: float | None
    false_signal: Figure
    false_signals: int
    never: int
    n: int
    verdicts: tuple[Verdict, ...]


def on_in_the_end(output: OutputKind, *, before_target: bool) -> bool:
    """Return the level of the output of a sensor that is available.

    Parameters
    ----------
    output : OutputKind
        Normally open or normally closed.
    before_target : bool
        Whether the target stands where the sensor is operated.

    Returns
    -------
    bool
        Whether the output is on.
    """
    return before_target is (output is OutputKind.NORMALLY_OPEN)


def availability_of(switchings: Sequence[SwitchOn], sensor: Sensor) -> Availability:
    """Work out delay and false signals, and hold both against their limits.

    Parameters
    ----------
    switchings : sequence of SwitchOn
        Switchings near the target and far off, one at least with the output on.
    sensor : Sensor
        The sensor; its data sheet may state the delay.

    Returns
    -------
    Availability
        The delay is that of the last rise of the output where it should be on; a
        signal is false that ended, or that came where the output should stay off.

    Raises
    ------
    InputError
        If no switching shows the delay.
    """
    delays, signals, never = [], [], 0
    shows = False
    for one in switchings:
        wanted = on_in_the_end(sensor.output, before_target=one.before_target)
        shows = shows or wanted
        rises = [one.after_ms(at) for level, at in one.edges if level]
        falls = [one.after_ms(at) for level, at in one.edges if not level]
        ends_on = bool(one.edges) and one.edges[-1][0]
        never += ends_on is not wanted
        signals.append(
            max((b - a for a, b in zip(rises, falls, strict=False)), default=0.0)
        )
        if wanted and ends_on:
            delays.append(rises[-1])
    if not shows:
        raise InputError(
            "the output never had to come on, so no delay shows",
            hint="switch with and without the target",
        )
    delay = _longest(delays) if delays else None
    longest = _longest(signals)
    verdicts = [] if delay is None else [verdict(delay, delay_limits(sensor))]
    verdicts.append(verdict(longest, _FALSE_SIGNAL))
    return Availability(
        delay=delay,
        mean_ms=math.fsum(delays) / len(delays) if delays else None,
        false_signal=longest,
        false_signals=sum(signal > 0.0 for signal in signals),
        never=never,
        n=len(switchings),
        verdicts=tuple(verdicts),
    )


def delay_limits(sensor: Sensor) -> Limits:
    """Return what the delay is held against.

    Parameters
    ----------
    sensor : Sensor
        The sensor.

    Returns
    -------
    Limits
        The data sheet's, else the standard's, ms.
    """
    stated = sensor.time_delay_before_availability_ms
    return Limits(
        lower=-math.inf,
        upper=STANDARD_DELAY_MS if stated is None else stated,
        unit="ms",
        source=_STANDARD if stated is None else "data sheet",
    )


_FALSE_SIGNAL: Final = Limits(
    lower=-math.inf, upper=FALSE_SIGNAL_MS, unit="ms", source=_STANDARD
)


def _longest(times_ms: Sequence[float]) -> Figure:
    """Return the longest of several times as a figure."""
    longest_ms, n, spread_ms = max(times_ms), len(times_ms), None
    # Two latched instants and the rise of the supply, each as a rectangle; a signal
    # that was not seen may have been as short as that
    half_widths = (_LATCHED_MS, _LATCHED_MS, _RISE_MS / 2.0)
    expanded_ms = _COVERAGE * math.hypot(*half_widths) / math.sqrt(3.0)
    if n > 1:
        mean_ms = math.fsum(times_ms) / n
        squares = math.fsum((each - mean_ms) ** 2 for each in times_ms)
        spread_ms = math.sqrt(squares / (n - 1))
    return Figure(
        value=longest_ms,
        unit="ms",
        expanded_uncertainty=expanded_ms,
        coverage_factor=_COVERAGE,
        effective_degrees_of_freedom=math.inf,
        standard_deviation=spread_ms,
        n=n,
    )
