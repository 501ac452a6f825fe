"""SPEC.md 6: sessions: orders that come late move nothing."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host, example_words
from firmware_protocol.conformance.motion import (
    begin_motion,
    fast_words,
    get_moving,
    get_raw,
    get_to,
    go_to,
    hold,
    is_in,
    moves_not,
    other_session,
    rest_of,
)
from firmware_protocol.messages import State, Trait
from firmware_protocol.table import load_table

CHAPTER = Chapter()
clause = CHAPTER.clause


@clause("6.5", "each `hail` begins a session: orders of the one before are error 18")
def _hail(host: Host) -> None:
    get_raw(host)
    hold(host)
    number = host.number()
    before = host.in_session("rearm")
    host.gets("hail 1", "hail 1", number)
    came = host.in_session("rearm")
    host.expect(came != before, "another `session` than the one before", came)
    host.gets_bare(before, "no 18 0", number)
    is_in(host, State.HELD)
    host.gets_bare(host.in_session("rearm"), "rearm raw", 1)
    hold(host)
    host.gets("hail 1", "hail 1", number)
    host.gets_bare(host.in_session("rearm"), "rearm raw", 1)


@clause("6.26", "a `hail` that is refused changes nothing: the session goes on")
def _refused_hail(host: Host) -> None:
    get_raw(host)
    for words in ("hail", "hail x", "hail 9"):
        number = host.number()
        host.gets("rearm", "rearm raw", number)
        host.expect(host.ask(words)[:3] == "no ", "a refusal", words)
        hold(host)
        host.gets_bare(host.in_session("rearm"), "rearm raw", number)
        is_in(host, State.HELD)
        host.gets_bare(host.in_session("rearm"), "rearm raw", host.number())


@clause("6.27", "every order needs its session, and has no effect in another")
def _in_another_session(host: Host) -> None:
    get_raw(host)
    other = other_session(host)
    for row in load_table().requests:
        if row.is_order:
            host.gets_bare(f"{example_words(row)} {other}", "no 18 0", 200)
    is_in(host, State.RAW)
    host.gets_bare(host.in_session("rearm"), "rearm raw", 1)


@clause("6.28", "silence of the host ends its session, at rest too")
def _lapses(host: Host) -> None:
    """What comes later may have waited on the way: no line revives the session."""
    get_raw(host)
    limit_s = host.trait(Trait.SILENCE_LIMIT) * 1e-3
    host.gets("rearm", "rearm raw", number := host.number())
    for _ in range(3):
        host.wait(limit_s * 0.8)
        host.look()
    hold(host)
    host.gets_bare(host.in_session("rearm"), "rearm raw", number + 1)
    host.wait(limit_s + 0.1 + host.subject.latency_s)
    host.look()
    hold(host)
    host.gets_bare(host.in_session("rearm"), "no 18 0", number + 2)
    host.gets_bare(host.in_session("rearm"), "rearm raw", number + 1)
    is_in(host, State.HELD)


@clause("6.29", "no `session` comes back within 100 greetings, over starts too")
def _sessions_differ(host: Host) -> None:
    came = []
    for index in range(100):
        if index % 20 == 19 and host.subject.world is not None:
            host.world.restart()
            host.wait(0.2)
        host.greet()
        came.append(host.session)
    host.expect(len(set(came)) == len(came), "100 different sessions", came)


@clause("6.30", "a late copy of a `go` moves nothing", Need.MOVES)
def _late_copy(host: Host) -> None:
    """As a queue on the way gives it: in the session, after another, after silence."""
    field = get_to(host, 0.2)
    number = begin_motion(host, words := fast_words(field, field.at(0.4)))
    late = host.in_session(words)
    rest_of(host, number)
    go_to(host, field.at(0.1))
    same = late == host.in_session(words)
    host.gets_bare(late, "no 14 0" if same else "no 18 0", number)
    moves_not(host, 0.1)
    host.greet()
    host.gets_bare(late, "no 18 0", number)
    moves_not(host, 0.1)
    late = host.in_session(words)
    host.wait(host.trait(Trait.SILENCE_LIMIT) * 1e-3 + 0.1 + host.subject.latency_s)
    for _ in range(3):
        host.gets_bare(late, "no 18 0", number)
    moves_not(host)
    is_in(host, State.READY)


@clause("6.31", "the stop byte needs no session and ends none", Need.MOVES)
def _stop_without_session(host: Host) -> None:
    get_moving(host)
    host.greet()
    is_in(host, State.MOVING)
    hold(host)
    is_in(host, State.HELD)
    host.gets_bare(host.in_session("rearm"), "rearm raw", 1)
