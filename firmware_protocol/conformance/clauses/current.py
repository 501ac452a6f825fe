"""SPEC.md 8: the motor's current, and `free`."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_raw,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    hold,
    home_words,
    is_in,
    rest_of,
)
from firmware_protocol.messages import State, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause


def _has_current(host: Host, wanted: bool) -> None:
    came = host.world.has_current()
    words = "current in the motor" if wanted else "no current in the motor"
    host.expect(came is wanted, words, came)


@clause("8.13", "`free` gives up home and soft limits", Need.MOVES, Need.ENABLE_OUTPUT)
def _free(host: Host) -> None:
    for get_there in (get_raw, get_unfenced, get_ready):
        get_there(host)
        host.gets("free", "free raw")
        is_in(host, State.RAW)
    get_ready(host)
    hold(host)
    host.gets("free", "free held")
    host.gets("rearm", "rearm raw")


@clause("8.14", "`free` in motion is error 7", Need.MOVES, Need.ENABLE_OUTPUT)
def _free_in_motion(host: Host) -> None:
    field = get_to(host, 0.0)
    number = begin_motion(host, f"go {field.at(0.2)} {field.slow} 1 0 0")
    host.gets("free", "no 7 0")
    rest_of(host, number)
    get_seeking(host)
    host.gets("free", "no 7 0")
    hold(host)


@clause(
    "8.15",
    "the motor has its current from the first `home` on, until `free`",
    Need.MOVES,
    Need.WORLD,
    Need.ENABLE_OUTPUT,
)
def _current(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    host.greet()
    _has_current(host, False)
    number = begin_motion(host, home_words(host))
    _has_current(host, True)
    rest_of(host, number)
    get_ready(host)
    _has_current(host, True)
    hold(host)
    _has_current(host, True)
    host.gets("free", "free held")
    _has_current(host, False)


@clause(
    "8.16",
    "a rest of ENABLE_REST without a sound line takes the current away",
    Need.MOVES,
    Need.WORLD,
    Need.PATIENCE,
    Need.ENABLE_OUTPUT,
)
def _long_rest(host: Host) -> None:
    rest_s = host.trait(Trait.ENABLE_REST)
    if rest_s == 0:
        return
    get_ready(host)
    host.world.pass_time(1.0)
    # Counted from the last sound line, and not from the rest a second before
    host.gets("look", "look ready", 0)
    host.world.pass_time(rest_s - 0.5)
    _has_current(host, True)
    host.world.pass_time(1.0)
    _has_current(host, False)
    is_in(host, State.RAW)


@clause(
    "8.17",
    "the drive lost takes the current away",
    Need.MOVES,
    Need.WORLD,
    Need.DRIVE_SENSE,
    Need.ENABLE_OUTPUT,
)
def _with_drive(host: Host) -> None:
    get_unfenced(host)
    host.world.set_drive(False)
    host.wait(0.1)
    _has_current(host, False)
    host.world.set_drive(True)
    host.wait(0.1)
    host.gets("rearm", "rearm raw")
    _has_current(host, False)


@clause(
    "8.18",
    "where the current cannot be taken away `free` is error 11, ENABLE_REST 0",
    Need.NO_ENABLE_OUTPUT,
)
def _not_able(host: Host) -> None:
    host.gets("free", "no 11 0")
    rest_s = host.trait(Trait.ENABLE_REST)
    host.expect(rest_s == 0, "ENABLE_REST 0", rest_s)
