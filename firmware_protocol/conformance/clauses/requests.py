"""SPEC.md 6: requests, their answers, sessions, the remembered order."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import (
    ANSWER_S,
    SLICE_S,
    Host,
    example_words,
    line,
)
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_raw,
    get_to,
    hold,
    is_in,
    rest_of,
)
from firmware_protocol.conformance.watch import NUMBER_ROUND
from firmware_protocol.messages import (
    HAND_REQUESTS,
    ReadRequest,
    State,
    Trait,
)
from firmware_protocol.table import load_table

CHAPTER = Chapter()
clause = CHAPTER.clause

_BY_HAND = {request.WORD for request in HAND_REQUESTS}


@clause("6.1", "a repeated order is answered as before and not carried out again")
def _repeated(host: Host) -> None:
    hold(host)
    number = host.number()
    first = host.ask("rearm", number)
    hold(host)
    host.gets("rearm", first, number)
    state = host.look().state
    host.expect(state is State.HELD, "a repeated `rearm` not to be carried out", state)


@clause("6.2", "an order needs a number above the last one's, else error 14")
def _old_number(host: Host) -> None:
    low, high = host.number(), host.number()
    first = host.ask("rearm", high)
    hold(host)
    for number, words in ((high, "home 1 1"), (low, "rearm"), (low, "rate 115200")):
        host.gets_bare(host.in_session(words), "no 14 0", number)
    host.gets("rearm", first, high)
    is_in(host, State.HELD)
    host.gets_bare(host.in_session("rate 115200"), "rate 115200", 255)
    host.gets_bare(host.in_session("rearm"), "no 14 0", 254)
    is_in(host, State.HELD)


@clause("6.3", "a refusal is remembered like an answer")
def _refusal_remembered(host: Host) -> None:
    get_raw(host)
    number = host.number()
    host.gets("fence 1000 2000", "no 5 0", number)
    hold(host)
    host.gets("fence 1000 2000", "no 5 0", number)
    host.gets("fence 1000 2000", "no 8 0")
    host.ask("rearm")


@clause("6.4", "a reading is carried out anew, under the same number too")
def _anew(host: Host) -> None:
    """It takes no number from the orders, and forgets none."""
    hold(host)
    number = host.number()
    last = host.ask("rearm", number)
    for words in ("look", "tally", "trait 0", "look 1", "bogus"):
        host.ask(words, number)
    first = host.ask("look", number)
    host.wait(0.02)
    came = host.ask("look", number)
    host.expect(came != first, "a new time under the same number", came)
    host.ask("look", number + 20)
    hold(host)
    host.gets("rearm", last, number)
    host.gets_bare(host.in_session("rearm"), "rearm raw", number + 1)


@clause("6.6", "request number 0 is for reading, and is error 13 otherwise")
def _by_hand(host: Host) -> None:
    """Ask in `held`, so that a controller that is wrong does not move."""
    hold(host)
    for row in load_table().requests:
        if row.word == ReadRequest.WORD:
            # Which there are, is told by a trait
            able = host.trait(Trait.QUANTITIES) & 1
            host.gets("read 0", "read 0" if able else "no 11 0", 0)
        elif row.word in _BY_HAND:
            host.gets(example_words(row), row.word, 0)
        else:
            host.gets(example_words(row), "no 13 0", 0)


@clause("6.7", "request number 0 is not remembered and forgets nothing")
def _zero_forgotten(host: Host) -> None:
    first = host.ask("look", 0)
    host.wait(0.02)
    came = host.ask("look", 0)
    host.expect(came != first, "a `look` with number 0 to be carried out anew", came)
    host.gets("trait 0", "trait 0", 0)
    hold(host)
    number = host.number()
    first = host.ask("rearm", number)
    host.ask("look", 0)
    host.gets("rearm", "no 13 0", 0)
    hold(host)
    host.gets("rearm", first, number)
    is_in(host, State.HELD)


@clause("6.8", "an unknown verb is error 1")
def _unknown_verb(host: Host) -> None:
    for words in ("bogus", "LOOK", "loo", "lookk", "start", "no 1 0", "0", "hail1 1"):
        host.gets(words, "no 1 0")


@clause("6.9", "too few or too many arguments are error 2")
def _count(host: Host) -> None:
    """Ask in `held`, so that a controller that is wrong does not move."""
    hold(host)
    for row in load_table().requests:
        words = example_words(row)
        words = host.in_session(words) if row.is_order else words
        for asked in (f"{words} 1", f"{words} 1 1 1 1 1"):
            host.gets_bare(asked, "no 2 0", host.number())
        if row.fields:
            for asked in (words.rpartition(" ")[0], row.word):
                host.gets_bare(asked, "no 2 0", host.number())


@clause("6.19", "a request is answered within 20 ms of its last byte")
def _in_time(host: Host) -> None:
    host.wait(0.1)
    for words in (
        "look",
        "tally",
        "trait 0",
        "bogus",
        host.in_session("rearm"),
        "hail 1",
        "go 0 1 1",
    ):
        data = line(f"q{(number := host.number())} {words}")
        begun_s = host.subject.clock_s()
        first = len(host.heard)
        host.send(data)
        host.answered(number, first, 1.0)
        if not host.replies(number, first):
            raise Broken(f"a reply to `{words}`", host.since(first))
        reply = host.replies(number, first)[0]
        wire_s = host.wire_s(len(data) + len(line(reply.text)))
        took_s = reply.at_s - begun_s - wire_s
        limit_s = ANSWER_S + host.subject.latency_s + SLICE_S
        host.expect(
            took_s <= limit_s,
            f"`{words}` answered within {limit_s * 1e3:.1f} ms",
            f"{took_s * 1e3:.1f} ms",
        )


@clause("6.20", "two requests may be outstanding; both are answered in order")
def _two(host: Host) -> None:
    for _ in range(5):
        first = len(host.heard)
        one, two = host.number(), host.number()
        host.send(line(f"q{one} look") + line(f"q{two} tally"))
        host.answered(two, first, 0.1 + host.subject.latency_s)
        came = [
            h.text.partition(" ")[0] for h in host.heard[first:] if h.text[0] in "ax"
        ]
        host.expect(came == [f"a{one}", f"a{two}"], f"a{one}, then a{two}", came)


@clause("6.21", "of more requests at once each is answered or counted as damaged")
def _many(host: Host) -> None:
    dropped = host.tally().dropped
    first = len(host.heard)
    numbers = [host.number() for _ in range(8)]
    host.send(b"".join(line(f"q{number} look") for number in numbers))
    host.wait(0.3 + host.subject.latency_s)
    answered = [number for number in numbers if host.replies(number, first)]
    counted = (host.tally().dropped - dropped) % 65536
    host.expect(
        len(answered) + counted == len(numbers) and answered[:2] == numbers[:2],
        "8 requests answered or counted, the first two answered",
        f"{answered} of {numbers} answered, {counted} counted",
    )


@clause("6.22", "a refused motion order moves nothing", Need.MOVES)
def _refused_rests(host: Host) -> None:
    field = get_to(host, 0.5)
    before = host.look()
    for words in (
        f"go {field.high + 1} {field.slow} 1 0 0",
        f"go {field.high} 1000000 1 0 0",
        f"go {field.high} {field.slow} 1 0",
        f"home {field.slow}",
    ):
        host.ask(words)
    host.ask(f"go {field.high} {field.slow} 1 0 0", 0)
    host.wait(0.1)
    after = host.look()
    host.expect(
        (after.position, after.state) == (before.position, before.state),
        f"rest at {before.position}, {before.state}",
        f"{after.position}, {after.state}",
    )


@clause("6.23", "a repeated motion order is not carried out again", Need.MOVES)
def _order_repeated(host: Host) -> None:
    """Send it again after the axis has come back: it must stay there."""
    field = get_to(host, 0.2)
    words = f"go {field.at(0.4)} {field.fast} {field.acceleration} 0 0"
    number = begin_motion(host, words)
    host.gets(words, "go", number)
    rest_of(host, number)
    host.gets(words, "go", number)
    host.wait(0.1)
    came = host.look()
    host.expect(came.state is State.READY, "no motion on a repeated `go`", came)
    hold(host)
    host.gets(words, "go", number)
    host.expect(host.look().state is State.HELD, "state held still", host.look().state)
    host.ask("rearm")


@clause("6.25", "a repeated `recall` sends the notice again as well")
def _recall_again(host: Host) -> None:
    last = (host.look().next_notice - 1) % NUMBER_ROUND
    number = host.number()
    came = []
    for _ in range(3):
        first = len(host.heard)
        host.gets(f"recall {last}", "recall", number)
        host.wait(0.05)
        came.append([heard.text for heard in host.heard[first:]])
    host.expect(
        came[1:] == [came[0]] * 2 and len(came[0]) == 2,
        "answer and notice each time, as the first time",
        came,
    )


@clause("6.24", "`hail` in motion is answered and disturbs nothing", Need.MOVES)
def _hail_in_motion(host: Host) -> None:
    field = get_to(host, 0.2)
    words = f"go {field.at(0.4)} {field.slow} 1 0 0"
    number = begin_motion(host, words)
    host.gets("hail 1", "hail 1", 0)
    host.gets("hail 1", "hail 1")
    rest = rest_of(host, number)
    host.expect(rest.position == field.at(0.4), f"rest at {field.at(0.4)}", rest)
