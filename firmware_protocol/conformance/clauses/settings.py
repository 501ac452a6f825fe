"""SPEC.md 7: settings, which `set` changes and the controller keeps."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_raw,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    hold,
    rest_of,
)
from firmware_protocol.messages import HailAnswer, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause

_NAME = (Trait.NAME_1, Trait.NAME_2, Trait.NAME_3, Trait.NAME_4)
_OTHER_NAME = "suite-7.10"
# No setting: what the firmware is
_FIRM = (Trait.RING_SIZE, Trait.SILENCE_LIMIT, Trait.FAIL_SAFE, Trait.BUILD)


def _now(host: Host, trait: Trait) -> int:
    """Ask for a trait, whatever was told before."""
    return int(host.ask(f"trait {int(trait)}", 0).split()[2])


def _set(host: Host, trait: Trait, value: int) -> None:
    host.gets(f"set {int(trait)} {value}", f"set {int(trait)} {value}")


@contextmanager
def _put_back(host: Host, *traits: Trait) -> Iterator[None]:
    """Set at the end what was set before, in both orders: one of them always fits."""
    before = {trait: _now(host, trait) for trait in traits}
    try:
        yield
    finally:
        for trait in (*traits, *reversed(traits)):
            host.ask(f"set {int(trait)} {before[trait]}")


def _words_of(name: str) -> tuple[int, ...]:
    data = name.encode("ascii").ljust(16, b"\0")
    return tuple(
        int.from_bytes(data[start : start + 4], "little") for start in (0, 4, 8, 12)
    )


@clause("7.10", "`set` changes a setting, and its trait tells it", Need.SETTINGS)
def _changes(host: Host) -> None:
    get_raw(host)
    for trait in (Trait.HOME_CLEAR, Trait.SERIAL):
        with _put_back(host, trait):
            value = _now(host, trait) ^ 1
            _set(host, trait, value)
            host.expect(_now(host, trait) == value, f"{trait.name} {value}", "another")


@clause(
    "7.11",
    "a value that does not fit is error 3, argument 2, and changes nothing",
    Need.SETTINGS,
)
def _does_not_fit(host: Host) -> None:
    get_raw(host)
    search, high = _now(host, Trait.HOME_SEARCH), _now(host, Trait.TRAVEL_HIGH)
    for trait, value in (
        (Trait.STEPS_PER_M, 0),
        (Trait.TRAVEL_LOW, 0),
        (Trait.TRAVEL_LOW, high),
        (Trait.TRAVEL_HIGH, 2**31 - 1),
        (Trait.SPEED_LIMIT, 0),
        (Trait.SPEED_LIMIT, 1_000_001),
        (Trait.ACCELERATION_LIMIT, 0),
        (Trait.START_SPEED, 0),
        (Trait.HOME_CLEAR, 0),
        (Trait.HOME_CLEAR, search),
        (Trait.HOME_SEARCH, high + 1),
        (Trait.SERIAL, -1),
        (Trait.NAME_1, 0),
        (Trait.NAME_1, 0x26262626),  # `&` begins a line
        (Trait.NAME_1, -1),
    ):
        before = _now(host, trait)
        host.gets(f"set {int(trait)} {value}", "no 3 2")
        host.expect(_now(host, trait) == before, f"{trait.name} {before}", "another")


@clause("7.12", "`set` of what is no setting is error 11", Need.SETTINGS)
def _no_setting(host: Host) -> None:
    get_raw(host)
    for index in (*(int(trait) for trait in _FIRM), 200, 255):
        host.gets(f"set {index} 1", "no 11 0")


@clause("7.13", "the name that was set is told by `hail`", Need.SETTINGS)
def _name(host: Host) -> None:
    get_raw(host)
    with _put_back(host, *_NAME):
        for trait, word in zip(_NAME, _words_of(_OTHER_NAME), strict=True):
            # A shorter name: what stands behind it goes first
            if word == 0:
                _set(host, trait, 0)
        for trait, word in zip(_NAME, _words_of(_OTHER_NAME), strict=True):
            _set(host, trait, word)
        answer = host.asked("hail 1").message
        if not isinstance(answer, HailAnswer):
            raise Broken("an answer to `hail 1`", host.since(-1))
        host.expect(answer.rig == _OTHER_NAME, _OTHER_NAME, answer.rig)


@clause("7.14", "settings outlive a restart", Need.WORLD, Need.SETTINGS)
def _outlive(host: Host) -> None:
    get_raw(host)
    with _put_back(host, Trait.HOME_CLEAR):
        value = _now(host, Trait.HOME_CLEAR) ^ 1
        _set(host, Trait.HOME_CLEAR, value)
        host.world.restart()
        host.greet()
        came = _now(host, Trait.HOME_CLEAR)
        host.expect(came == value, f"HOME_CLEAR {value}", came)


@clause(
    "7.15",
    "nothing is set while the axis is homed (19), in motion (7) or held (8)",
    Need.MOVES,
    Need.SETTINGS,
)
def _only_raw(host: Host) -> None:
    value = _now(host, Trait.HOME_CLEAR)
    words = f"set {int(Trait.HOME_CLEAR)} {value}"
    for get_there in (get_unfenced, get_ready):
        get_there(host)
        host.gets(words, "no 19 0")
    field = get_to(host, 0.0)
    number = begin_motion(host, f"go {field.at(0.2)} {field.slow} 1 0 0")
    host.gets(words, "no 7 0")
    rest_of(host, number)
    get_seeking(host)
    host.gets(words, "no 7 0")
    hold(host)
    host.gets(words, "no 8 0")


@clause("7.16", "without settings `set` is error 11", Need.NO_SETTINGS)
def _unable(host: Host) -> None:
    get_raw(host)
    host.gets(f"set {int(Trait.HOME_CLEAR)} 200", "no 11 0")
