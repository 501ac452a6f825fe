"""Waiting for the sweeps of a timetable by the link's clock, with the link kept alive.

On a port that clock is the wall's; on the simulated rig it is the controller's, so
that eight hours pass in seconds there.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from rig.errors import InputError, Stopped
from rig.model.sweeps import Run, Timetable
from rig.procedures.events import Remarked, StepBegan, Tell
from rig.procedures.mover import Mover

# Silence stops a motion only, and nothing moves here: a look is to find out soon that
# the rig is gone or has restarted, or that somebody asked for stop
_LOOK_S = 2.0
_SAID_EVERY_S = 60.0


def check_timetable(timetable: Timetable, sweeps: int) -> None:
    """Refuse a timetable that cannot be kept.

    Raises:
        InputError: It has no span, fewer than two readings, or the sweeps cannot be
            shared out among them.
    """
    if not 0.0 < timetable.hours <= 100.0:
        raise InputError(
            f"timetable: {timetable.hours:g} hours; give up to 100, such as 8"
        )
    if timetable.readings < 2:
        raise InputError(
            f"timetable: {timetable.readings} readings span no time; give 2 or more"
        )
    if sweeps % timetable.readings:
        raise InputError(
            f"timetable: {sweeps} sweeps cannot be shared out among"
            f" {timetable.readings} readings evenly"
        )


def clock_of(
    mover: Mover, now: Callable[[], datetime], unfinished: Run | None
) -> Callable[[], datetime]:
    """Return the time, UTC, that goes on as the link's clock does.

    It never goes back behind the last sweep of a run that is taken up again: on the
    simulated rig that sweep may carry a time that the wall has not reached.
    """
    begun_at, begun_s = now(), mover.link.now_s()
    if unfinished is not None and unfinished.sweeps:
        begun_at = max(begun_at, unfinished.sweeps[-1].ended_at)

    def time() -> datetime:
        return begun_at + timedelta(seconds=mover.link.now_s() - begun_s)

    return time


def spacing_of_readings_s(timetable: Timetable) -> float:
    """Return the time from one reading to the next."""
    return 3600.0 * timetable.hours / (timetable.readings - 1)


def wait_begins(run: Run, good: int) -> bool:
    """Whether a reading of a timetable is complete and the next not begun."""
    timetable = run.header.timetable
    if timetable is None or good == 0 or run.sweeps[-1].void:
        return False
    return good % (run.header.sweeps_wanted // timetable.readings) == 0


def await_turn(
    mover: Mover,
    run: Run,
    good: int,
    tell: Tell,
    now: Callable[[], datetime],
) -> None:
    """Return when the next sweep of a run is due.

    A reading that is late already, as after a crash, is taken at once and said.

    Raises:
        Stopped: Somebody stopped it.
        LinkError: The rig failed.
    """
    timetable = run.header.timetable
    if timetable is None or good == 0:
        return
    each = run.header.sweeps_wanted // timetable.readings
    if good % each:
        return
    first = next(sweep for sweep in run.sweeps if not sweep.void)
    reading = good // each
    spacing_s = spacing_of_readings_s(timetable)
    due = first.ended_at + timedelta(seconds=reading * spacing_s)
    late_s = (now() - due).total_seconds()
    if late_s > spacing_s / 2.0:
        late = f"Reading {reading + 1} of {timetable.readings} is {late_s / 60.0:.0f}"
        tell(Remarked(sentence=f"{late} min late."))
    what = f"waiting for reading {reading + 1} of {timetable.readings}"
    _keep_alive_until(mover, due, what, tell, now)


def _keep_alive_until(
    mover: Mover,
    due: datetime,
    what: str,
    tell: Tell,
    now: Callable[[], datetime],
) -> None:
    said_at: datetime | None = None
    while (left_s := (due - now()).total_seconds()) > 0:
        if said_at is None or (now() - said_at).total_seconds() >= _SAID_EVERY_S:
            tell(StepBegan(what=f"{what}, {left_s / 60.0:.0f} min"))
            said_at = now()
        if mover.link.stop_asked:
            raise Stopped("stopped on request")
        mover.link.look()
        until_s = mover.link.now_s() + min(left_s, _LOOK_S)
        while (wait_s := until_s - mover.link.now_s()) > 0:
            # Takes in what comes meanwhile; between sweeps no edge is of use
            mover.link.next_notice(wait_s)
