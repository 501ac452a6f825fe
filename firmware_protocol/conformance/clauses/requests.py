"""SPEC.md 6 and 7: requests, refusals and their order, the remembered request."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import ANSWER_S, SLICE_S, Host, line
from firmware_protocol.conformance.motion import (
    begin_motion,
    field_of,
    get_moving,
    get_raw,
    get_ready,
    get_to,
    get_unfenced,
    hold,
    home_words,
    keep,
    rest_of,
)
from firmware_protocol.messages import (
    HAND_REQUESTS,
    Ability,
    HailAnswer,
    Input,
    State,
    Trait,
)
from firmware_protocol.table import load_table

CHAPTER = Chapter()
clause = CHAPTER.clause

_BY_HAND = {request.WORD for request in HAND_REQUESTS}


def _example(word: str) -> str:
    row = next(row for row in load_table().requests if row.word == word)
    return " ".join([word, *(str(row.example[field.name]) for field in row.fields)])


@clause("6.1", "a repeated request is answered as before and not carried out again")
def _repeated(host: Host) -> None:
    number = host.number()
    first = host.ask("look", number)
    host.wait(0.02)
    host.expect(host.ask("look", number) == first, f"`{first}` again", host.since(-1))
    hold(host)
    number = host.number()
    host.ask("rearm", number)
    hold(host)
    host.ask("rearm", number)
    state = host.look().state
    host.expect(state is State.HELD, "a repeated `rearm` not to be carried out", state)


@clause("6.2", "the same number with other words is error 14, and forgets nothing")
def _number_used(host: Host) -> None:
    number = host.number()
    first = host.ask("look", number)
    for words in ("tally", "look 1", "bogus", "look ", "trait 0", "rearm"):
        host.gets(words, "no 14 0", number)
    host.wait(0.02)
    came = host.ask("look", number)
    host.expect(came == first, f"the remembered `{first}`", came)


@clause("6.3", "a refusal is remembered like an answer")
def _refusal_remembered(host: Host) -> None:
    get_raw(host)
    number = host.number()
    host.gets("fence 1000 2000", "no 5 0", number)
    hold(host)
    host.gets("fence 1000 2000", "no 5 0", number)
    host.gets("fence 1000 2000", "no 8 0")
    host.gets("bogus 1", "no 1 0", number := host.number())
    host.gets("bogus 2", "no 14 0", number)
    host.ask("rearm")


@clause("6.4", "a new number is carried out anew")
def _anew(host: Host) -> None:
    first = host.ask("look")
    host.wait(0.02)
    came = host.ask("look")
    host.expect(came != first, "a new time with a new number", came)


@clause("6.5", "`hail` is always carried out, forgets, and is not remembered")
def _hail(host: Host) -> None:
    number = host.number()
    first = host.ask("look", number)
    host.wait(0.02)
    host.ask("hail 1", number)
    came = host.ask("look", number)
    host.expect(came != first, "a `look` after `hail` to be carried out anew", came)
    number = host.number()
    host.gets("hail 1", "hail 1", number)
    host.gets("look", "look", number)
    host.gets("hail 1", "hail 1", number)
    host.gets("hail 1", "hail 1", number)


@clause("6.6", "request number 0 is for reading, and is error 13 otherwise")
def _by_hand(host: Host) -> None:
    """Ask in `held`, so that a controller that is wrong does not move."""
    hold(host)
    for row in load_table().requests:
        if row.word in _BY_HAND:
            host.gets(_example(row.word), row.word, 0)
        else:
            host.gets(_example(row.word), "no 13 0", 0)


@clause("6.7", "request number 0 is not remembered and forgets nothing")
def _zero_forgotten(host: Host) -> None:
    first = host.ask("look", 0)
    host.wait(0.02)
    came = host.ask("look", 0)
    host.expect(came != first, "a `look` with number 0 to be carried out anew", came)
    host.gets("trait 0", "trait 0", 0)
    number = host.number()
    first = host.ask("look", number)
    host.ask("look", 0)
    host.gets("rearm", "no 13 0", 0)
    came = host.ask("look", number)
    host.expect(came == first, "a numbered `look` still remembered", came)


@clause("6.8", "an unknown verb is error 1")
def _unknown_verb(host: Host) -> None:
    for words in ("bogus", "LOOK", "loo", "lookk", "start", "no 1 0", "0", "hail1 1"):
        host.gets(words, "no 1 0")


@clause("6.9", "too few or too many arguments are error 2")
def _count(host: Host) -> None:
    """Ask in `held`, so that a controller that is wrong does not move."""
    hold(host)
    for row in load_table().requests:
        words = _example(row.word)
        host.gets(f"{words} 1", "no 2 0")
        host.gets(f"{words} 1 1 1 1 1", "no 2 0")
        if row.fields:
            host.gets(words.rpartition(" ")[0], "no 2 0")
            host.gets(row.word, "no 2 0")


@clause("6.10", "refusals by form: 14, 1, 13, 2, 3, 4 in this order")
def _order_of_form(host: Host) -> None:
    number = host.number()
    host.ask("look", number)
    host.gets("bogus", "no 14 0", number)
    host.gets("trait 1 2 3", "no 14 0", number)
    host.gets("bogus", "no 1 0", 0)
    host.gets("rearm 1", "no 13 0", 0)
    host.gets("fence x", "no 13 0", 0)
    host.gets("fence x", "no 2 0")
    host.gets("hail x", "no 3 1")
    host.gets("hail 2 2", "no 2 0")
    host.gets("hail 2", "no 4 1")


@clause("6.11", "before `hail` the order is 1, 13, 16, 2", Need.WORLD, greets=False)
def _order_before_hail(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    host.gets("bogus", "no 1 0")
    host.gets("rearm", "no 13 0", 0)
    host.gets("look 1", "no 16 0")
    host.gets("go x", "no 16 0")
    host.gets("trait 255", "no 16 0")


@clause("6.12", "error 3 comes before 8; 8 before 5, 11, 15 and 9")
def _order_held(host: Host) -> None:
    get_raw(host)
    hold(host)
    field = field_of(host)
    host.gets("fence 5 4", "no 3 2")
    host.gets("go 0 0 1 0 0", "no 3 2")
    host.gets(f"fence {field.low} {field.high}", "no 8 0")
    host.gets("home 1000000 1000000", "no 8 0")
    host.gets("go 2147483647 1000000 10000000 0 0", "no 8 0")
    host.gets("touch 2147483647 1000000", "no 8 0")
    host.ask("rearm")


@clause("6.13", "error 5 comes before 11, 15 and 9")
def _order_raw(host: Host) -> None:
    get_raw(host)
    host.gets("go 2147483647 1000000 10000000 0 0", "no 5 0")
    host.gets("touch 2147483647 1000000", "no 5 0")
    host.gets("fence -2147483648 2147483647", "no 5 0")


@clause("6.14", "error 6 comes before 11, 15 and 9", Need.MOVES)
def _order_unfenced(host: Host) -> None:
    get_unfenced(host)
    host.gets("go 2147483647 1000000 10000000 0 0", "no 6 0")
    host.gets("touch 2147483647 1000000", "no 6 0")


@clause("6.15", "error 3 comes before 7; 7 before 11, 15 and 9", Need.MOVES)
def _order_moving(host: Host) -> None:
    get_moving(host)
    host.gets("fence 5 4", "no 3 2")
    host.gets("rate 9600", "no 3 1")
    host.gets("rate 250000", "no 7 0")
    host.gets("go 2147483647 1000000 10000000 0 0", "no 7 0")
    host.gets("touch 2147483647 1000000", "no 7 0")
    host.gets("home 1000000 1000000", "no 7 0")
    host.gets("fence -2147483648 2147483647", "no 7 0")
    hold(host)


@clause("6.16", "error 15 comes before 9", Need.MOVES)
def _order_ready(host: Host) -> None:
    field = get_ready(host)
    host.gets("go 2147483647 1000000 1 0 0", "no 15 2")
    host.gets(f"go {field.low - 1} {field.slow} 10000000 0 0", "no 15 3")
    if host.able(Ability.TOUCH_PROBE):
        host.gets("touch 2147483647 1000000", "no 15 2")


@clause(
    "6.17",
    "error 15, then 9, comes before 12",
    Need.MOVES,
    Need.WORLD,
    Need.TOUCH_PROBE,
)
def _order_probe(host: Host) -> None:
    field = get_to(host, 0.5)
    host.world.set_probe(host.world.place() - 10)
    host.wait(0.05)
    host.gets(f"go {field.high + 1} {field.slow} 1 0 0", "no 9 1")
    host.gets(f"go {field.high + 1} 1000000 1 0 0", "no 15 2")
    host.gets(f"touch {field.high + 1} {field.slow}", "no 9 1")
    host.gets(f"go {field.high} {field.slow} 1 0 0", "no 12 0")


@clause("6.18", "error 11 comes before 15 and 9", Need.MOVES, Need.NO_TOUCH_PROBE)
def _order_unable(host: Host) -> None:
    field = get_ready(host)
    host.gets("touch 2147483647 1000000", "no 11 0")
    host.gets(f"touch {field.high} {field.slow}", "no 11 0")


@clause("6.19", "a request is answered within 20 ms of its last byte")
def _in_time(host: Host) -> None:
    host.wait(0.1)
    for words in (
        "look",
        "tally",
        "trait 0",
        "bogus",
        "rearm",
        "hail 1",
        "go 0 1 1",
    ):
        data = line(f"q{(number := host.number())} {words}")
        begun_s = host.subject.clock_s()
        first = len(host.heard)
        host.send(data)
        host.wait(1.0, lambda n=number, f=first: bool(host.replies(n, f)))  # type: ignore[misc]
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
        host.wait(
            0.1 + host.subject.latency_s,
            lambda t=two, f=first: bool(host.replies(t, f)),
        )  # type: ignore[misc]
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


@clause("6.24", "`hail` in motion is answered and disturbs nothing", Need.MOVES)
def _hail_in_motion(host: Host) -> None:
    field = get_to(host, 0.2)
    words = f"go {field.at(0.4)} {field.slow} 1 0 0"
    number = begin_motion(host, words)
    host.gets("hail 1", "hail 1", 0)
    host.gets("hail 1", "hail 1")
    rest = rest_of(host, number)
    host.expect(rest.position == field.at(0.4), f"rest at {field.at(0.4)}", rest)


# ---- 7


@clause("7.1", "`hail` tells version, start, firmware and rig")
def _greeting(host: Host) -> None:
    answer = host.asked("hail 1", 0).message
    if not isinstance(answer, HailAnswer):
        raise Broken("an answer to `hail 1`", host.since(-1))
    host.expect(answer.major == 1, "major version 1", answer.major)
    host.expect(answer.boot == host.look().boot, "the `boot` of `look`", answer.boot)


@clause("7.2", "every trait is told, and makes sense")
def _traits(host: Host) -> None:
    value = {trait: host.trait(trait) for trait in Trait}
    low, high = value[Trait.TRAVEL_LOW], value[Trait.TRAVEL_HIGH]
    speed, start = value[Trait.SPEED_LIMIT], value[Trait.START_SPEED]
    for holds, expected in (
        (value[Trait.STEPS_PER_M] > 0, "STEPS_PER_M above 0"),
        (low < high, "TRAVEL_LOW below TRAVEL_HIGH"),
        (1 <= start <= speed <= 1_000_000, "START_SPEED up to SPEED_LIMIT"),
        (1 <= value[Trait.ACCELERATION_LIMIT] <= 10_000_000, "an acceleration limit"),
        (16 <= value[Trait.RING_SIZE] <= 32767, "a ring of 16 to 32767"),
        (200 <= value[Trait.SILENCE_LIMIT] <= 2000, "a limit of 200 to 2000 ms"),
        (value[Trait.TIME_TICK] >= 1000, "a time tick of 1000 ns or more"),
        (value[Trait.EDGE_RATE_LIMIT] >= 1, "an edge rate of 1/s or more"),
        (0 <= value[Trait.ABILITIES] < 256, "a sum of abilities"),
    ):
        host.expect(holds, expected, {t.name: v for t, v in value.items()})
    for trait in Trait:
        host.gets(f"trait {int(trait)}", f"trait {int(trait)} {value[trait]}")


@clause("7.3", "an unknown trait is error 3")
def _unknown_trait(host: Host) -> None:
    for index in (100, 200, 255):
        host.gets(f"trait {index}", "no 3 1")


@clause("7.4", "`look` tells the clock: it runs as time does")
def _clock(host: Host) -> None:
    begun_s, first = host.subject.clock_s(), host.look()
    host.wait(0.5)
    took_s, last = host.subject.clock_s() - begun_s, host.look()
    came_s = ((last.time - first.time) % 2**32) * 1e-6
    room_s = 0.02 * took_s + 2 * host.subject.latency_s + 0.012
    host.expect(
        abs(came_s - took_s) <= room_s, f"{took_s:.3f} s gone", f"{came_s:.3f} s"
    )


@clause("7.5", "`inputs` leaves out a probe that is not fitted")
def _no_probe(host: Host) -> None:
    inputs = host.look().inputs
    fitted = host.able(Ability.TOUCH_PROBE)
    host.expect(fitted or not inputs & Input.PROBE, "no PROBE in `inputs`", inputs)
    host.expect(0 <= inputs < 16, "no unknown input", inputs)


@clause("7.6", "`inputs` has SUPPLY where it is not watched", Need.NO_SUPPLY_SENSE)
def _supply_set(host: Host) -> None:
    inputs = host.look().inputs
    host.expect(bool(inputs & Input.SUPPLY), "SUPPLY in `inputs`", inputs)


@clause("7.7", "`inputs` follows the sensor's output", Need.WORLD)
def _output_shown(host: Host) -> None:
    for level in (True, False, True):
        host.world.hold_output(level)
        host.wait(0.02)
        inputs = host.look().inputs
        host.expect(bool(inputs & Input.OUT) is level, f"OUT {int(level)}", inputs)


@clause("7.8", "`inputs` follows the home switch and the probe", Need.MOVES, Need.WORLD)
def _switches_shown(host: Host) -> None:
    get_unfenced(host)
    inputs = host.look().inputs
    host.expect(bool(inputs & Input.HOME), "HOME where `home` ended", inputs)
    get_to(host, 0.3)
    inputs = host.look().inputs
    host.expect(not inputs & (Input.HOME | Input.PROBE), "no HOME, no PROBE", inputs)
    if host.able(Ability.TOUCH_PROBE):
        host.world.set_probe(host.world.place())
        host.wait(0.02)
        inputs = host.look().inputs
        host.expect(bool(inputs & Input.PROBE), "PROBE", inputs)


@clause("7.9", "answers repeat what was asked and is in force now", Need.MOVES)
def _in_force(host: Host) -> None:
    field = get_ready(host)
    host.gets(
        f"fence {field.low} {field.low + 1}", f"fence {field.low} {field.low + 1}"
    )
    host.gets(f"fence {field.low} {field.high}", f"fence {field.low} {field.high}")
    host.gets("rate 115200", "rate 115200")
    host.gets("rearm", "rearm ready")
    number = begin_motion(host, home_words(host))
    keep(host, 0.05)
    rest_of(host, number)
