"""SPEC.md 2 to 4: lines, numbers and the check."""

from __future__ import annotations

from collections.abc import Iterable

from firmware_protocol.checksum import check_digits
from firmware_protocol.conformance.clause import Broken, Chapter
from firmware_protocol.conformance.host import PATIENCE_S, Host, line
from firmware_protocol.conformance.motion import hold
from firmware_protocol.conformance.watch import NUMBER_ROUND
from firmware_protocol.messages import LONGEST_LINE_BYTES, State
from firmware_protocol.table import MessageRow, load_table

CHAPTER = Chapter()
clause = CHAPTER.clause


def drops(host: Host, data: bytes, what: str, *counts: int) -> None:
    """Expect bytes to be dropped, counted so many times (once), and not answered."""
    before = host.tally().dropped
    host.ignores(data, what)
    came = (host.tally().dropped - before) % NUMBER_ROUND
    wanted = " or ".join(map(str, counts or (1,)))
    host.expect(
        came in (counts or (1,)),
        f"{what} to be counted {wanted} times",
        f"{came} times",
    )


def takes(host: Host, before: bytes, after: bytes, what: str) -> None:
    """Expect a request to be answered among other bytes, and nothing to be counted."""
    dropped = host.tally().dropped
    first = len(host.heard)
    number = host.number()
    host.send(before + line(f"q{number} look")[:-1] + after)
    host.answered(number, first, PATIENCE_S + host.subject.latency_s)
    host.expect(bool(host.replies(number, first)), f"a reply {what}", host.since(first))
    came = host.tally().dropped - dropped
    host.expect(came == 0, f"nothing counted {what}", f"{came} counted")


@clause("2.1", "a request is answered by one line with the same number")
def _one_answer(host: Host) -> None:
    for number in (1, 255, 7):
        first = len(host.heard)
        host.gets("trait 0", "trait 0", number)
        host.wait(0.05)
        came = [heard.text for heard in host.replies(number, first)]
        host.expect(len(came) == 1, "one reply", came)


@clause("2.2", "a CR right before the LF is passed over")
def _carriage_return(host: Host) -> None:
    takes(host, b"", b"\r\n", "to a line that ends with CR LF")


@clause("2.3", "bytes outside a line are passed over and not counted")
def _outside(host: Host) -> None:
    takes(host, b"hello\n\r\n\x00\xff q1 look\n", b"\n", "after bytes outside a line")


@clause("2.4", "`&` begins a line anew; what stood before it is counted once")
def _begins_anew(host: Host) -> None:
    dropped, number = host.tally().dropped, host.number()
    first = len(host.heard)
    host.send(b"&q9 trai" + line(f"q{number} look"))
    host.answered(number, first, PATIENCE_S + host.subject.latency_s)
    host.expect(bool(host.replies(number, first)), "a reply", host.since(first))
    drops(host, b"&q8 look &&" + b"xyz\n", "`&` three times in one line", 3)
    host.expect(host.tally().dropped - dropped == 4, "4 counted in all", host.tally())


@clause("2.5", "a line of 64 bytes is taken")
def _longest(host: Host) -> None:
    number = host.number()
    room = LONGEST_LINE_BYTES - len(line(f"q{number} ")) + 1
    host.gets("z" * room, "no 1 0", number)


@clause("2.6", "a line of more than 64 bytes is dropped and counted once")
def _too_long(host: Host) -> None:
    for extra in (1, 2, 10, 150, 1000):
        body = "q5 " + "z" * (LONGEST_LINE_BYTES - 9 + extra)
        drops(host, line(body), f"a line of {len(line(body)) - 1} bytes")


@clause("2.7", "a line with another byte is dropped and counted once")
def _other_byte(host: Host) -> None:
    for byte in (0x00, 0x07, 0x09, 0x1F, 0x7F, 0x80, 0xFF):
        body = f"q5 look{chr(byte)}"
        drops(host, line(body), f"a line with the byte 0x{byte:02x}")
    drops(host, b"&q5 l\x01ook\x02 12\x7f34\n", "a line with three such bytes")


@clause("2.8", "a CR that is not right before the LF drops the line")
def _stray_return(host: Host) -> None:
    whole = line("q5 look")
    drops(host, whole[:-1] + b"\r\r\n", "a line that ends with CR CR LF")
    drops(host, whole[:4] + b"\r" + whole[4:], "a line with a CR in it")
    drops(host, whole[:-1] + b"\r \n", "a line with a blank behind the CR")


@clause("2.9", "a line whose check does not fit is dropped and counted")
def _wrong_check(host: Host) -> None:
    for data in (b"&q5 look 0000\n", b"&q5 look\n", b"&q5\n", b"&\n", b"& \n"):
        drops(host, data, f"the line {data!r}")
    drops(host, b"&q5 look" + check_digits(b"q5 look") + b"\n", "a check with no blank")


@clause("2.10", "the check is four lower-case digits")
def _upper_case(host: Host) -> None:
    body = next(
        f"q{n} look"
        for n in range(1, 256)
        if any(digit > ord("9") for digit in check_digits(f"q{n} look".encode()))
    ).encode()
    digits = check_digits(body)
    drops(host, b"&" + body + b" " + digits.upper() + b"\n", "an upper-case check")
    drops(host, b"&" + body + b" 0" + digits + b"\n", "a check of five digits")


@clause("2.11", "a sound line without mark, number and word is dropped and counted")
def _no_head(host: Host) -> None:
    bodies = ("z1 look", "Q1 look", "q look", "q256 look", "q01 look", "q-1 look")
    for body in (*bodies, "q+1 look", "q1", "1 look", "look", "q1.0 look", "q 1 look"):
        drops(host, line(body), f"the line `{body}`")


@clause("2.12", "a line with the mark of an answer or notice is dropped and counted")
def _other_marks(host: Host) -> None:
    for body in ("a1 look", "x1 no 5 0", "n1 start 0 1 power", "a1 rearm"):
        drops(host, line(body), f"the line `{body}`")


@clause("2.13", "a second blank makes an empty field, which is malformed and counts")
def _empty_field(host: Host) -> None:
    host.gets("trait ", "no 3 1")
    host.gets("trait  0", "no 2 0")
    host.gets("trait 0 ", "no 2 0")
    host.gets("look ", "no 2 0")
    host.gets("fence  5", "no 3 1")


@clause("2.16", "an empty verb is answered: error 1")
def _empty_verb(host: Host) -> None:
    host.gets("", "no 1 0", 0)
    host.gets(" look", "no 1 0")
    host.gets(" ", "no 1 0")


@clause("2.14", "a line may come in pieces")
def _pieces(host: Host) -> None:
    number = host.number()
    first = len(host.heard)
    for byte in line(f"q{number} look"):
        host.send(bytes([byte]))
        host.wait(0.03)
    host.answered(number, first, 0.25)
    host.expect(bool(host.replies(number, first)), "a reply", host.since(first))


@clause("2.15", "a damaged line is not carried out in part")
def _not_in_part(host: Host) -> None:
    """Try it in `held`: `rearm` would show."""
    hold(host)
    before = host.look()
    host.ignores(b"&q5 rearm" + b"&q6 home 1 1\n", "orders with no check")
    whole = line(f"q9 {host.in_session('home 1 1')}")
    for cut in range(1, len(whole) - 1):
        host.send(whole[:cut] + b"\n")
        host.wait(host.wire_s(cut) + 0.002)
    after = host.look()
    host.expect(after.state is before.state, f"state {before.state}", after.state)


# ---- 3


def _outside_range(low: int, high: int) -> Iterable[str]:
    for value in (low - 1, high + 1, -(2**31) - 1, 2**31, 2**32 - 1, 2**32, 2**32 + 1):
        if not low <= value <= high:
            yield str(value)
    yield from ("9999999999", "-9999999999", "18446744073709551617", "4294967297")


def _arguments(row: MessageRow) -> list[str]:
    """Return arguments that are in their ranges, without those of a real order."""
    return [str(row.example[field.name]) for field in row.fields]


@clause("3.1", "an integer is written in one way only")
def _canonical(host: Host) -> None:
    forms = ("+0", "-0", "00", "01", "0x0", "1.0", "1e0", "a", "-", "--1", "0-", "1,0")
    for text in forms:
        host.gets(f"trait {text}", "no 3 1")


@clause("3.2", "a number outside its range is error 3, never wrapped or clipped")
def _ranges(host: Host) -> None:
    """Ask in `held`, so that a controller that is wrong does not move."""
    hold(host)
    for row in load_table().requests:
        for index, field in enumerate(row.fields):
            for text in _outside_range(field.low, field.high):
                words = _arguments(row)
                words[index] = text
                asked = f"{row.word} {' '.join(words)}"
                if len(line(f"q255 {asked}")) < LONGEST_LINE_BYTES:
                    host.gets_bare(asked, f"no 3 {index + 1}", host.number())


@clause("3.3", "the least and the greatest value of each number are understood")
def _extremes(host: Host) -> None:
    """Ask in `held`, where nothing moves and error 8 comes right after 3."""
    hold(host)
    for words in (
        "fence -2147483648 2147483647",
        "fence -2147483648 -2147483647",
        "fence 2147483646 2147483647",
        "home 1 1",
        "home 1000000 1000000",
        "go -2147483648 1 1 0 0",
        "go 2147483647 1000000 10000000 255 1000000",
        "touch -2147483648 1",
        "touch 2147483647 1000000",
    ):
        host.gets(words, "no 8 0")
    host.gets("trait 255", "no 3 1")
    host.gets("hail 0", "no 4 1", 0)
    host.gets("hail 255", "no 4 1", 0)
    host.ask("rearm")


@clause("3.4", "error 3 names the first argument at fault")
def _first_fault(host: Host) -> None:
    host.gets("go x y z 0 0", "no 3 1")
    host.gets("go 5 0 0 256 -1", "no 3 2")
    host.gets("go 5 1 0 256 -1", "no 3 3")
    host.gets("go 5 1 1 256 -1", "no 3 4")
    host.gets("go 5 1 1 255 -1", "no 3 5")
    host.gets("fence 1 x", "no 3 2")
    host.gets("fence 5 5", "no 3 2")
    host.gets("fence 5 4", "no 3 2")
    host.gets("fence 2147483647 -2147483648", "no 3 2")


# ---- 4


@clause("4.1", "the greeting that a person types is answered", greets=False)
def _typed(host: Host) -> None:
    for _ in range(12):
        host.send(b"&q0 hail 1 f54c\n")
        if host.answered(0, 0, PATIENCE_S):
            break
    came = [heard.text for heard in host.replies(0)]
    host.expect(
        bool(came) and came[0].startswith("a0 hail 1 "),
        "`a0 hail 1 ...` to `&q0 hail 1 f54c`",
        f"{host.since(0)} ({_other_check(host)})"
        if host.heard or host.flaws
        else f"nothing: the controller is mute ({_other_check(host)})",
    )


def _crc(data: bytes, start: int, *, reflected: bool = False, last: int = 0) -> int:
    crc = start
    for byte in data:
        crc ^= byte if reflected else byte << 8
        for _ in range(8):
            if reflected:
                crc = (crc >> 1) ^ (0x8408 if crc & 1 else 0)
            else:
                crc = (crc << 1 & 0xFFFF) ^ (0x1021 if crc & 0x8000 else 0)
    return crc ^ last


def _wrong_checks(body: bytes) -> dict[str, int]:
    right = int(check_digits(body), 16)
    return {
        "start value 0": _crc(body, 0),
        "start value 0x1D0F": _crc(body, 0x1D0F),
        "bits reflected, start 0xFFFF": _crc(body, 0xFFFF, reflected=True),
        "bits reflected, start 0": _crc(body, 0, reflected=True),
        "the result inverted": right ^ 0xFFFF,
        "bytes swapped": (right << 8 | right >> 8) & 0xFFFF,
        "the start byte counted in": _crc(b"&" + body, 0xFFFF),
        "the blank counted in": _crc(body + b" ", 0xFFFF),
    }


def _other_check(host: Host) -> str:
    body = b"q0 hail 1"
    for name, value in _wrong_checks(body).items():
        first = host.subject.clock_s()
        host.send(b"&" + body + b" " + f"{value:04x}".encode() + b"\n")
        seen: list[bytes] = []
        while host.subject.clock_s() < first + 0.1 and not seen:
            seen = [data for data in [host.subject.receive(0.05)] if b"hail" in data]
        if seen:
            return f"it answers to a check with {name}: {seen[0]!r}"
    return "nor to a check made in other ways"


@clause("4.2", "a check made in another way does not fit")
def _other_checks(host: Host) -> None:
    body = b"q5 trait 0"
    for name, value in _wrong_checks(body).items():
        data = b"&" + body + b" " + f"{value:04x}".encode() + b"\n"
        drops(host, data, f"a line whose check has {name}")


@clause("4.3", "a line with one bit flipped is never answered")
def _flips(host: Host) -> None:
    whole = line("q5 trait 0")
    for index in range(len(whole)):
        for bit in range(8):
            data = bytearray(whole)
            data[index] ^= 1 << bit
            first = len(host.heard)
            host.send(bytes(data) + b"\n")
            host.wait(host.wire_s(len(data) + 1) + 0.001)
            if host.replies(5, first):
                raise Broken(f"no reply to {bytes(data)!r}", host.since(first))
    host.wait(0.05 + host.subject.latency_s)
    came = host.replies(5)
    host.expect(not came, "no reply to any of them", host.since(0))
    if host.look().state is State.HELD:
        host.ask("rearm")


@clause("4.4", "every line from the controller is sound and carries the right check")
def _own_lines(host: Host) -> None:
    """Let it send one of each kind that needs no motion, and look for flaws."""
    for words in ("look", "tally", "trait 0", "bogus", "rearm", "rate 115200"):
        host.ask(words)
    host.ask(f"recall {(host.look().next_notice - 1) % NUMBER_ROUND}")
    host.wait(0.05)
    host.expect(not host.flaws, "sound lines only", "; ".join(host.flaws))
