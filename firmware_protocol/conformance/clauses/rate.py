"""SPEC.md 9: the rate of the line."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need, NotApplicable
from firmware_protocol.conformance.host import Host
from firmware_protocol.messages import FIRST_RATE_BITS_S

CHAPTER = Chapter()
clause = CHAPTER.clause

_FAST = 250000
_TRIAL_S = 0.500
_SETTLE_S = 0.005


def _listen_at(host: Host, bits_s: int) -> None:
    if not host.set_rate(bits_s):
        raise NotApplicable(Need.RATE.value)
    host.wait(_SETTLE_S)


def _hears(host: Host) -> bool:
    """Return whether a `look` is answered at the host's rate."""
    first = len(host.heard)
    host.say("look", 0)
    host.answered(0, first, 0.1 + host.subject.latency_s)
    return bool(host.replies(0, first))


def _to_fast(host: Host) -> int:
    number = host.number()
    host.gets("rate 250000", "rate 250000", number)
    _listen_at(host, _FAST)
    return number


def _end(host: Host) -> None:
    """Forget the noise that another rate made, and let the trial run out."""
    _listen_at(host, FIRST_RATE_BITS_S)
    host.wait(2 * _TRIAL_S)
    host.flaws.clear()


@clause("9.1", "`rate 115200` is answered and changes nothing at first")
def _same(host: Host) -> None:
    host.gets("rate 115200", "rate 115200")
    host.wait(0.6)
    host.gets("look", "look")


@clause("9.2", "any other number is error 3")
def _other(host: Host) -> None:
    for number in (115201, 115199, 250001, 249999, 9600, 0, 200000):
        host.gets(f"rate {number}", "no 3 1")


@clause("9.3", "without the ability 250000 is error 11", Need.NO_FAST_RATE)
def _unable(host: Host) -> None:
    host.gets("rate 250000", "no 11 0")


@clause(
    "9.4",
    "`rate 250000` is answered at the old rate and holds after it",
    Need.RATE,
    Need.FAST_RATE,
)
def _fast(host: Host) -> None:
    _to_fast(host)
    host.expect(_hears(host), "a `look` answered at 250000", host.since(-2))
    host.wait(1.2)
    host.expect(_hears(host), "250000 kept after a sound line", host.since(-2))
    _listen_at(host, FIRST_RATE_BITS_S)
    host.expect(not _hears(host), "no answer at 115200 meanwhile", host.since(-1))
    _listen_at(host, _FAST)
    host.gets("rate 115200", "rate 115200")
    _listen_at(host, FIRST_RATE_BITS_S)
    host.wait(0.7)
    host.expect(_hears(host), "115200 again, with no trial", host.since(-2))
    _end(host)


@clause(
    "9.5", "without a sound line it goes back after 500 ms", Need.RATE, Need.FAST_RATE
)
def _falls_back(host: Host) -> None:
    _to_fast(host)
    host.send(b"&q1 look 0000\n" + b"&a1 look\n")
    host.wait(_TRIAL_S + 0.1)
    host.expect(not _hears(host), "no answer at 250000 any more", host.since(-1))
    _listen_at(host, FIRST_RATE_BITS_S)
    host.expect(_hears(host), "an answer at 115200", host.since(-2))
    _to_fast(host)
    host.wait(_TRIAL_S - 0.1)
    host.expect(_hears(host), "250000 until then", host.since(-2))
    host.gets("rate 115200", "rate 115200")
    _end(host)


@clause(
    "9.6",
    "a repeated `rate` is answered and not carried out",
    Need.RATE,
    Need.FAST_RATE,
)
def _repeated(host: Host) -> None:
    number = _to_fast(host)
    host.wait(_TRIAL_S + 0.1)
    _listen_at(host, FIRST_RATE_BITS_S)
    host.gets("rate 250000", "rate 250000", number)
    host.wait(_SETTLE_S)
    host.expect(_hears(host), "115200 kept", host.since(-2))
    _end(host)


@clause(
    "9.7",
    "on a link without a rate 250000 is answered and has no effect",
    Need.FAST_RATE,
)
def _no_rate(host: Host) -> None:
    if host.set_rate(FIRST_RATE_BITS_S):
        raise NotApplicable("the link has a rate")
    host.gets("rate 250000", "rate 250000")
    host.wait(0.7)
    host.gets("look", "look")
    host.gets("rate 115200", "rate 115200")
    host.gets("look", "look")
