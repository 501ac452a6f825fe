"""Corrupted lines: what the check lets through, what sequence and motion catch.

Lines are those of a session of sweeps. Damage that the check does not see is so rare
that what stands behind it is tried on lines that were forged, check and all.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from unittest.mock import patch

from scipy.stats import poisson

from firmware_protocol import Receiver, RemoteProtocolError, encode
from firmware_protocol.checksum import check_digits
from firmware_protocol.codec import decode
from firmware_protocol.messages import EdgeNotice, RestNotice
from rig.link.inbox import Inbox
from rig.procedures import mover
from rig.procedures.motion_fit import Ordered, Told, misfit
from tests.campaign.session import Session
from tests.campaign.settings import Setting

MISS = 2.0**-16  # share of damaged lines that a check of 16 bits lets through
_BURST_BITS = 16  # CRC-16 finds every burst up to there (Peterson and Brown 1961)
_STEPS_PER_UM = 1.6
_SWEEPS = 20


Notice = EdgeNotice | RestNotice


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """What went over a line in a session of sweeps.

    Attributes:
        lines: Every line, without start byte and end.
        motions: Every motion that was held against the model.
    """

    lines: tuple[bytes, ...]
    motions: tuple[tuple[Ordered, Told], ...]


def recorded(folder: Path) -> Recorded:
    """Carry out a session and return what went over its line."""
    motions: list[tuple[Ordered, Told]] = []
    lines: list[bytes] = []

    def noted(ordered: Ordered, told: Told) -> str:
        motions.append((ordered, told))
        return misfit(ordered, told)

    session = Session(Setting(seed=12, sweeps=_SWEEPS), folder)
    deliver = session.wire._pass

    def passed(line: bytes, way: object) -> None:
        lines.extend(one.lstrip(b"&") for one in line.split(b"\n") if one[:1] == b"&")
        deliver(line, way)  # type: ignore[arg-type]

    session.wire._pass = passed  # type: ignore[method-assign]
    with patch.object(mover, "misfit", noted):
        assert session.carry_out().complete
    return Recorded(lines=tuple(lines), motions=tuple(motions))


def _flipped(line: bytes, chance: random.Random) -> bytes:
    damaged = bytearray(line)
    for _ in range(chance.randrange(1, 9)):
        damaged[chance.randrange(len(line))] ^= 1 << chance.randrange(8)
    return bytes(damaged)


def _dropped(line: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(line))
    return line[:at] + line[at + chance.randrange(1, 4) :]


def _doubled(line: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(line))
    return line[: at + 1] + line[at:]


def _overwritten(line: bytes, chance: random.Random) -> bytes:
    """Digits for digits, as of another line: the damage that looks most like sense."""
    damaged = bytearray(line)
    for at in chance.sample(range(len(line)), chance.randrange(2, 8)):
        damaged[at] = chance.choice(b"0123456789abcdef ")
    return bytes(damaged)


def _short_burst(line: bytes, chance: random.Random) -> bytes:
    length_bits = chance.randrange(1, _BURST_BITS + 1)
    first = chance.randrange(8 * len(line) - length_bits + 1)
    pattern = chance.getrandbits(length_bits) | 1 | (1 << (length_bits - 1))
    whole = int.from_bytes(line, "big") ^ (pattern << first)
    return whole.to_bytes(len(line), "big")


DAMAGE = {
    "1 to 8 bits flipped": _flipped,
    "bytes dropped": _dropped,
    "a byte doubled": _doubled,
    "2 to 7 characters overwritten": _overwritten,
    "a burst of up to 16 bits": _short_burst,
}


@dataclass(frozen=True, kw_only=True)
class Accepted:
    """Lines of one kind of damage that were taken as sound.

    Attributes:
        kind: Kind of damage.
        damaged: Lines damaged.
        accepted: Of those, lines that decode to something else than was sent.
        allowed: So many or fewer come by chance, in all but 1 case in 10,000.
    """

    kind: str
    damaged: int
    accepted: int
    allowed: int


def corrupted(lines: Sequence[bytes], count: int, seed: int) -> list[Accepted]:
    """Damage so many lines and count which of them are taken."""
    chance = random.Random(seed)
    found = []
    for kind, spoil in DAMAGE.items():
        damaged = accepted = 0
        while damaged < count // len(DAMAGE):
            line = chance.choice(lines)
            spoilt = spoil(line, chance)
            if spoilt == line:
                continue
            damaged += 1
            accepted += _says_otherwise(spoilt, line)
        never = spoil is _short_burst
        allowed = 0 if never else int(poisson.ppf(1.0 - 1e-4, damaged * MISS))
        found.append(
            Accepted(kind=kind, damaged=damaged, accepted=accepted, allowed=allowed)
        )
    return found


def _says_otherwise(spoilt: bytes, line: bytes) -> bool:
    # Through the framing too: damage may begin or end a line
    wire = Receiver()
    try:
        true = decode(line)
    except RemoteProtocolError:
        raise AssertionError(line) from None
    return any(item != true for item in _messages(wire, spoilt))


def _messages(wire: Receiver, body: bytes) -> list[object]:
    return [item for item in wire.feed(b"&" + body + b"\n") if hasattr(item, "number")]


@dataclass(frozen=True, kw_only=True)
class Caught:
    """Forged notices, check and all, by what found them.

    Attributes:
        forged: Notices forged.
        by: How many each way of finding them found; "harmless" says the same of place,
            time and level as what was sent.
        left_um: How far off the place is where nothing found that it is another, um.
    """

    forged: int
    by: Counter[str]
    left_um: tuple[float, ...]

    def left_beyond(self, um: float) -> int:
        """Return how many that nothing found are farther off than that."""
        return sum(left > um for left in self.left_um)


def forged(motions: Sequence[tuple[Ordered, Told]], count: int, seed: int) -> Caught:
    """Forge a digit in so many notices of motions; return what finds them."""
    chance = random.Random(seed)
    by: Counter[str] = Counter()
    left: list[float] = []
    usable = [(o, t) for o, t in motions if not misfit(o, t)]
    while by.total() < count:
        ordered, told = chance.choice(usable)
        notices = [*told.edges, told.rest]
        at = chance.randrange(len(notices))
        lie = _one_digit_off(notices[at], chance)
        if lie is None:
            continue
        true = notices[at]
        if _same_sense(true, lie):
            by["harmless"] += 1
        elif _out_of_sequence(notices, at, lie):
            by["sequence"] += 1
        elif _does_not_fit(ordered, told, at, lie):
            by["motion"] += 1
        elif getattr(lie, "level", None) != getattr(true, "level", None):
            by["level"] += 1  # the level that the edge before it had: no change
        elif lie.position == true.position:
            by["nothing, at the same place"] += 1
        else:
            by["nothing, at another place"] += 1
            left.append(abs(lie.position - true.position) / _STEPS_PER_UM)
    return Caught(forged=count, by=by, left_um=tuple(left))


def _one_digit_off(true: Notice, chance: random.Random) -> Notice | None:
    body = bytearray(encode(true)[1:-6])
    digits = [at for at, byte in enumerate(body) if chr(byte).isdigit()]
    at = chance.choice(digits)
    body[at] = chance.choice([byte for byte in b"0123456789" if byte != body[at]])
    line = bytes(body) + b" " + check_digits(bytes(body))
    try:
        lie = decode(line)
    except RemoteProtocolError:
        return None
    return lie if isinstance(lie, EdgeNotice | RestNotice) else None


def _same_sense(true: Notice, lie: Notice) -> bool:
    return replace(lie, lost=true.lost) == true


def _out_of_sequence(notices: Sequence[Notice], at: int, lie: Notice) -> bool:
    """Whether the numbers tell: one is missing, or comes a second time."""
    inbox = Inbox(notices[0].number)
    for place, notice in enumerate(notices):
        inbox.put(lie if place == at else notice)
    end = (notices[-1].number + 1) % 2**16
    inbox.announce(end)
    return bool(inbox.announce(end)) or inbox.take_differing_copy() is not None


def _does_not_fit(ordered: Ordered, told: Told, at: int, lie: Notice) -> bool:
    if isinstance(lie, RestNotice):
        # The rest of another request is waited on, and its motion ends as overdue
        if lie.request != told.rest.request:
            return True
        return bool(misfit(ordered, replace(told, rest=lie)))
    edges = [*told.edges]
    edges[at] = lie
    return bool(misfit(ordered, replace(told, edges=edges)))
