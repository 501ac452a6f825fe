"""SPEC.md 10: silence of the host."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host, line
from firmware_protocol.conformance.motion import (
    begin_motion,
    field_of,
    get_moving,
    get_seeking,
    get_to,
    hold,
    is_in,
    slow_words,
)
from firmware_protocol.messages import RestCause, RestNotice, State, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause


def _limit_s(host: Host) -> float:
    return host.trait(Trait.SILENCE_LIMIT) * 1e-3


def _falls_silent(host: Host, chatter: bytes = b"") -> None:
    """Send nothing that counts, and expect the axis to stop for it in time."""
    first = len(host.heard)
    last = host.look()
    end_s = host.subject.clock_s() + _limit_s(host) + 0.2 + host.subject.latency_s
    while host.subject.clock_s() < end_s:
        if chatter:
            host.send(chatter)
        host.wait(0.05)
    rests = host.notices(RestNotice, first)
    host.expect(
        [rest.cause for rest in rests] == [RestCause.SILENT],
        "one `rest` with cause `silent`",
        host.since(first),
    )
    took_s = ((rests[0].time - last.time) % 2**32) * 1e-6
    # The last step came some time before the limit: as much as a step takes
    early_s = 0.005 + 1.0 / field_of(host).slow
    host.expect(
        _limit_s(host) - early_s <= took_s <= _limit_s(host) + 0.05,
        f"a stop after {_limit_s(host):.3f} s by the controller's own clock",
        f"{took_s:.6f} s by it",
    )
    is_in(host, State.HELD)
    host.gets("rearm", "rearm raw")


@clause(
    "10.30",
    "silence in `moving` stops the axis: `silent`, `held`, home given up",
    Need.MOVES,
)
def _silent(host: Host) -> None:
    get_moving(host)
    _falls_silent(host)


@clause("10.31", "silence in `seeking` does the same", Need.MOVES)
def _silent_seeking(host: Host) -> None:
    get_seeking(host)
    _falls_silent(host)


@clause("10.32", "lines with other marks do not count against silence", Need.MOVES)
def _echo(host: Host) -> None:
    get_moving(host)
    _falls_silent(
        host, line("a5 look") + line("n5 edge 0 out 1 1 1") + line("x5 no 1 0")
    )


@clause("10.33", "damaged lines and bytes outside lines do not count", Need.MOVES)
def _noise(host: Host) -> None:
    get_moving(host)
    _falls_silent(host, b"&q0 look 0000\n" + b"xyz\n" + b"&q0 lo")


@clause("10.34", "any request keeps the axis moving, also a refused one", Need.MOVES)
def _refused_counts(host: Host) -> None:
    get_moving(host)
    for words in (
        "bogus",
        host.in_session("rearm"),
        "go 1",
        "look",
        host.in_session("rearm"),
        "hail 1",
        "hail 9",
        "tally",
        "bogus",
    ):
        host.say_bare(words, host.number())
        host.wait(_limit_s(host) * 0.6)
        rests = host.notices(RestNotice)[-1:]
        host.expect(
            not rests or rests[-1].cause is not RestCause.SILENT,
            f"motion kept up by `{words}`",
            host.since(-3),
        )
    hold(host)


@clause("10.35", "a repeated request counts too", Need.MOVES)
def _repeat_counts(host: Host) -> None:
    field = get_to(host, 0.0)
    words = slow_words(field, field.high)
    number = begin_motion(host, words)
    for _ in range(4):
        host.wait(_limit_s(host) * 0.6)
        host.gets(words, "go", number)
    is_in(host, State.MOVING)
    hold(host)


@clause("10.36", "the order itself is the first line that counts", Need.MOVES)
def _first_line(host: Host) -> None:
    field = get_to(host, 0.0)
    first = len(host.heard)
    host.wait(2.2)
    before = host.look()
    begin_motion(host, slow_words(field, field.high))
    host.wait(_limit_s(host) + 0.2 + host.subject.latency_s)
    rests = host.notices(RestNotice, first)
    took_s = ((rests[0].time - before.time) % 2**32) * 1e-6 if rests else 0.0
    host.expect(
        bool(rests) and took_s >= _limit_s(host) - 0.005 - 1.0 / field.slow,
        f"a stop {_limit_s(host):.3f} s after the order",
        host.since(first),
    )
