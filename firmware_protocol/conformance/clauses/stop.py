"""SPEC.md 5: the stop byte."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host, line
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_moving,
    get_raw,
    get_ready,
    get_seeking,
    get_to,
    get_unfenced,
    go_to,
    hold,
    is_in,
    keep,
    moves_not,
)
from firmware_protocol.messages import (
    RestCause,
    RestNotice,
    State,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


def _rests_after(host: Host, first: int, cause: RestCause) -> RestNotice:
    """Expect one `rest` since an index, with this cause, and state `held`."""
    host.wait(0.1 + host.subject.latency_s)
    rests = host.notices(RestNotice, first)
    host.expect(
        [rest.cause for rest in rests] == [cause],
        f"one `rest` with cause `{cause}`",
        host.since(first),
    )
    is_in(host, State.HELD)
    return rests[0]


@clause("5.1", "a stop byte in mid-line acts, and drops its line uncounted")
def _in_mid_line(host: Host) -> None:
    get_raw(host)
    dropped = host.tally().dropped
    whole = line(f"q77 {host.in_session('rearm')}")
    for cut in (1, 3, 7, len(whole) - 1):
        host.ignores(whole[:cut] + b"#" + whole[cut:], "a line with `#` in it")
        is_in(host, State.HELD)
        host.gets("rearm", "rearm raw")
    came = host.tally().dropped - dropped
    host.expect(came == 0, "such a line not counted as damaged", came)


@clause("5.2", "a stop byte at rest leads to `held`, with no notice")
def _at_rest(host: Host) -> None:
    get_raw(host)
    before = host.look().next_notice
    hold(host)
    is_in(host, State.HELD)
    came = host.look().next_notice
    host.expect(came == before, "no notice", f"{came - before} notices")


@clause("5.3", "the stop byte acts before the first `hail`", Need.WORLD, greets=False)
def _before_hail(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    host.send(b"#")
    host.wait(0.05)
    host.greet()
    is_in(host, State.HELD)


@clause("5.4", "in `held` a stop byte changes nothing; three do no harm")
def _three_times(host: Host) -> None:
    get_raw(host)
    before = host.look().next_notice
    host.send(b"###")
    hold(host)
    is_in(host, State.HELD)
    host.expect(host.look().next_notice == before, "no notice", host.look().next_notice)
    host.gets("rearm", "rearm raw")


@clause("5.5", "a request behind a stop byte is heard")
def _behind(host: Host) -> None:
    number = host.number()
    host.send(b"#" + line(f"q{number} look"))
    host.wait(0.1 + host.subject.latency_s)
    came = [heard.text.split()[2] for heard in host.replies(number)]
    host.expect(came == ["held"], "`look held ...`", host.since(0))
    host.ask("rearm")


@clause("5.6", "what the controller is sending when a stop byte comes is finished")
def _finished(host: Host) -> None:
    for pause_ms in range(0, 6):
        data = line(f"q{host.number()} look")
        host.send(data)
        host.wait(host.wire_s(len(data)) + pause_ms * 1e-3)
        host.send(b"#")
        host.wait(0.05 + host.subject.latency_s)
        host.ask("rearm")
    host.expect(not host.flaws, "whole lines", "; ".join(host.flaws))


@clause(
    "5.7", "a stop byte in `moving` stops at once: `stopped`, home given up", Need.MOVES
)
def _moving(host: Host) -> None:
    _, number = get_moving(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"#")
    rest = _rests_after(host, first, RestCause.STOPPED)
    host.expect(rest.request == number, f"the `rest` of request {number}", rest)
    moves_not(host)
    host.expect(host.look().position == rest.position, "the count of `rest`", rest)
    host.gets("rearm", "rearm raw")


@clause("5.8", "a stop byte in `seeking` does the same", Need.MOVES)
def _seeking(host: Host) -> None:
    number = get_seeking(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"#")
    rest = _rests_after(host, first, RestCause.STOPPED)
    host.expect(rest.request == number, f"the `rest` of request {number}", rest)
    moves_not(host)
    host.gets("rearm", "rearm raw")


@clause("5.9", "a stop byte in mid-line stops a motion", Need.MOVES)
def _moving_mid_line(host: Host) -> None:
    get_moving(host)
    keep(host, 0.1)
    first = len(host.heard)
    host.send(b"&q5 lo#")
    _rests_after(host, first, RestCause.STOPPED)
    host.send(b"ok 1234\n")
    moves_not(host)


@clause("5.10", "no step pulse comes after the stop byte", Need.MOVES, Need.WORLD)
def _no_pulse(host: Host) -> None:
    field = get_to(host, 0.0)
    begin_motion(host, f"go {field.high} {field.fast} {field.acceleration} 0 0")
    keep(host, 0.05)
    first = len(host.heard)
    host.send(b"#")
    host.wait(host.wire_s(1) + 0.0005 + host.subject.latency_s)
    before = host.world.pulses()
    _rests_after(host, first, RestCause.STOPPED)
    after = host.world.pulses()
    host.expect(after == before, "no pulse after the stop byte", f"{after - before}")


@clause("5.11", "three stop bytes in motion make one `rest`", Need.MOVES)
def _one_rest(host: Host) -> None:
    get_moving(host)
    first = len(host.heard)
    host.send(b"###")
    _rests_after(host, first, RestCause.STOPPED)


@clause("5.12", "an order right before a stop byte does not move on", Need.MOVES)
def _order_before(host: Host) -> None:
    field = get_to(host, 0.0)
    words = f"go {field.high} {field.slow} 1 0 0"
    host.send(line(f"q{host.number()} {host.in_session(words)}") + b"#")
    host.wait(0.1 + host.subject.latency_s)
    is_in(host, State.HELD)
    moves_not(host)


@clause("5.13", "at rest a stop byte keeps home and soft limits", Need.MOVES)
def _keeps_home(host: Host) -> None:
    get_unfenced(host)
    hold(host)
    is_in(host, State.HELD)
    host.gets("rearm", "rearm unfenced")
    field = get_ready(host)
    hold(host)
    is_in(host, State.HELD)
    host.gets("rearm", "rearm ready")
    host.gets(f"go {field.high + 1} {field.slow} 1 0 0", "no 9 1")
    go_to(host, field.at(0.1))
