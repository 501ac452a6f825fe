"""Messages of the protocol, one class each.

Written by generate.py from table.toml: change the table, not this.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, IntFlag, StrEnum
from typing import ClassVar

from firmware_protocol.fields import (
    FieldRule,
    Message,
    flag_field,
    int_field,
    token_field,
    word_field,
)

MAJOR = 1
MINOR = 0
START_BYTE = 38
STOP_BYTE = 35
END_BYTE = 10
LONGEST_LINE_BYTES = 64
CHECK_START = 0xFFFF
FIRST_RATE_BITS_S = 115200
REQUEST_NUMBER_HIGH = 255
NOTICE_NUMBER_HIGH = 65535


class State(StrEnum):
    """What the controller is doing."""

    RAW = "raw"
    SEEKING = "seeking"
    UNFENCED = "unfenced"
    READY = "ready"
    MOVING = "moving"
    HELD = "held"


class RestCause(StrEnum):
    """Why the axis came to rest."""

    THERE = "there"
    TURN = "turn"
    TOUCHED = "touched"
    HOMED = "homed"
    STOPPED = "stopped"
    SILENT = "silent"
    CONTACT = "contact"
    FAULT = "fault"


class Source(StrEnum):
    """Which input changed."""

    OUT = "out"
    PROBE = "probe"
    HOME = "home"


class StartReason(StrEnum):
    """Why the controller started."""

    POWER = "power"
    BUTTON = "button"
    WATCHDOG = "watchdog"
    BROWNOUT = "brownout"


class ErrorCode(IntEnum):
    """Why a request was refused."""

    UNKNOWN_VERB = 1
    WRONG_COUNT = 2
    BAD_ARGUMENT = 3
    OTHER_MAJOR = 4
    NOT_HOMED = 5
    NO_FENCE = 6
    BUSY = 7
    HELD = 8
    BEYOND_FENCE = 9
    GONE = 10
    NOT_ABLE = 11
    PROBE_CLOSED = 12
    NEEDS_NUMBER = 13
    OLD_NUMBER = 14
    TOO_FAST = 15
    NO_GREETING = 16
    DRIVE_OFF = 17
    OLD_SESSION = 18
    HOMED = 19


class Fault(IntEnum):
    """What failed."""

    LATE_PULSE = 1
    STARVED = 2
    HOME_NOT_FOUND = 3
    HOME_STUCK = 4
    HOME_UNEXPECTED = 5
    SUPPLY_LOST = 6
    PROBE_UNEXPECTED = 7
    DRIVE_LOST = 8
    SETTINGS_LOST = 9


class Trait(IntEnum):
    """Numbers of the traits."""

    STEPS_PER_M = 0
    TRAVEL_LOW = 1
    TRAVEL_HIGH = 2
    SPEED_LIMIT = 3
    ACCELERATION_LIMIT = 4
    START_SPEED = 5
    RING_SIZE = 6
    SILENCE_LIMIT = 7
    ABILITIES = 8
    TIME_TICK = 9
    EDGE_RATE_LIMIT = 10
    FAIL_SAFE = 11
    MIN_PULSE = 12
    ENABLE_REST = 13
    HOME_CLEAR = 14
    HOME_SEARCH = 15
    BUILD = 16
    HIGH_INPUTS = 17
    SERIAL = 18
    NAME_1 = 19
    NAME_2 = 20
    NAME_3 = 21
    NAME_4 = 22
    QUANTITIES = 23
    CONTROLS = 24
    SUPPLY_LOW = 25
    SUPPLY_HIGH = 26
    SUPPLY_START = 27
    SCALE_PER_M = 28


class Ability(IntFlag):
    """What a controller can do."""

    FAST_RATE = 1
    TOUCH_PROBE = 2
    SUPPLY_SENSE = 4
    SIMULATED = 8
    DRIVE_SENSE = 16
    ENABLE_OUTPUT = 32
    SETTINGS = 64
    SCALE = 128


class Input(IntFlag):
    """Inputs of the controller."""

    OUT = 1
    PROBE = 2
    HOME = 4
    SUPPLY = 8
    DRIVE = 16
    PROBE_SEEN = 32


class Quantity(IntEnum):
    """What `read` tells."""

    SUPPLY = 0
    LOAD_CURRENT = 1
    RESIDUAL_VOLTAGE = 2
    TEMPERATURE = 3
    SCALE = 4


class Control(IntEnum):
    """What `put` sets."""

    SENSOR_SUPPLY = 0
    SUPPLY_VOLTAGE = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Request(Message):
    """From the host: `&q<number> <verb> ...`."""

    MARK: ClassVar[str] = "q"
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Request):
    """A request that moves or changes something, within a session."""

    session: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer(Message):
    """From the controller: `&a<number of the request> <verb> ...`."""

    MARK: ClassVar[str] = "a"
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal(Message):
    """From the controller: `&x<number of the request> no <error> <argument>`."""

    MARK: ClassVar[str] = "x"
    WORD: ClassVar[str] = "no"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("error", 1, 255),
        int_field("argument", 0, 9),
    )
    number: int
    error: int
    argument: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice(Message):
    """Unasked, from the controller: `&n<own number> <word> <lost> ...`."""

    MARK: ClassVar[str] = "n"
    number: int
    lost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HailRequest(Request):
    """Greets and begins a session.

    Always carried out; anything but this is refused before it.
    """

    WORD: ClassVar[str] = "hail"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("major", 0, 255),)
    major: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HailAnswer(Answer):
    """Answer to `hail`."""

    WORD: ClassVar[str] = "hail"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("major", 0, 255),
        int_field("minor", 0, 255),
        int_field("boot", 0, 65535),
        token_field("firmware", 10),
        token_field("rig", 16),
        int_field("session", 0, 65535),
    )
    major: int
    minor: int
    boot: int
    firmware: str
    rig: str
    session: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitRequest(Request):
    """Asks for one trait of the rig.

    traits do not change between starts.
    """

    WORD: ClassVar[str] = "trait"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("index", 0, 255),)
    index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TraitAnswer(Answer):
    """Answer to `trait`."""

    WORD: ClassVar[str] = "trait"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
    )
    index: int
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LookRequest(Request):
    """Asks how things stand now.

    The usual line against silence.
    """

    WORD: ClassVar[str] = "look"


@dataclass(frozen=True, slots=True, kw_only=True)
class LookAnswer(Answer):
    """Answer to `look`."""

    WORD: ClassVar[str] = "look"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        word_field("state", State),
        int_field("position", -2147483648, 2147483647),
        int_field("time", 0, 4294967295),
        int_field("inputs", 0, 255),
        int_field("next_notice", 0, 65535),
        int_field("boot", 0, 65535),
    )
    state: State
    position: int
    time: int
    inputs: int
    next_notice: int
    boot: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TallyRequest(Request):
    """Asks for what went wrong since the start."""

    WORD: ClassVar[str] = "tally"


@dataclass(frozen=True, slots=True, kw_only=True)
class TallyAnswer(Answer):
    """Answer to `tally`."""

    WORD: ClassVar[str] = "tally"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("dropped", 0, 65535),
        int_field("lost", 0, 65535),
        int_field("fault", 0, 255),
    )
    dropped: int
    lost: int
    fault: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FenceRequest(Order):
    """Sets the soft limits.

    Refused while not homed or in motion.
    """

    WORD: ClassVar[str] = "fence"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("low", -2147483648, 2147483647),
        int_field("high", -2147483648, 2147483647),
        int_field("session", 0, 65535),
    )
    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FenceAnswer(Answer):
    """Answer to `fence`."""

    WORD: ClassVar[str] = "fence"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("low", -2147483648, 2147483647),
        int_field("high", -2147483648, 2147483647),
    )
    low: int
    high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeRequest(Order):
    """Looks for the home switch and makes the count 0 there.

    Fast until it closes, back until it opens, slowly until it closes again; the edges
    of that last approach are noticed with the count before it becomes 0. From a
    closed touch probe slowly away first; a probe that closes on the way is fault 7.
    """

    WORD: ClassVar[str] = "home"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("fast", 1, 1000000),
        int_field("slow", 1, 1000000),
        int_field("session", 0, 65535),
    )
    fast: int
    slow: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeAnswer(Answer):
    """Answer to `home`."""

    WORD: ClassVar[str] = "home"


@dataclass(frozen=True, slots=True, kw_only=True)
class GoRequest(Order):
    """Moves toward a position.

    With `edges` above 0 it comes to rest `overrun` steps after that many edges of the
    sensor's output.
    """

    WORD: ClassVar[str] = "go"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("target", -2147483648, 2147483647),
        int_field("speed", 1, 1000000),
        int_field("acceleration", 1, 10000000),
        int_field("edges", 0, 255),
        int_field("overrun", 0, 1000000),
        int_field("session", 0, 65535),
    )
    target: int
    speed: int
    acceleration: int
    edges: int
    overrun: int


@dataclass(frozen=True, slots=True, kw_only=True)
class GoAnswer(Answer):
    """Answer to `go`."""

    WORD: ClassVar[str] = "go"


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchRequest(Order):
    """Moves toward a position until the touch probe closes.

    Stops there without a ramp.
    """

    WORD: ClassVar[str] = "touch"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("target", -2147483648, 2147483647),
        int_field("speed", 1, 1000000),
        int_field("session", 0, 65535),
    )
    target: int
    speed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TouchAnswer(Answer):
    """Answer to `touch`."""

    WORD: ClassVar[str] = "touch"


@dataclass(frozen=True, slots=True, kw_only=True)
class RearmRequest(Order):
    """Leads out of `held`.

    Moves nothing.
    """

    WORD: ClassVar[str] = "rearm"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("session", 0, 65535),)


@dataclass(frozen=True, slots=True, kw_only=True)
class RearmAnswer(Answer):
    """Answer to `rearm`."""

    WORD: ClassVar[str] = "rearm"
    RULES: ClassVar[tuple[FieldRule, ...]] = (word_field("state", State),)
    state: State


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeRequest(Order):
    """Takes the motor's current away and gives up home and soft limits.

    Moves nothing; the axis can be turned by hand.
    """

    WORD: ClassVar[str] = "free"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("session", 0, 65535),)


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeAnswer(Answer):
    """Answer to `free`."""

    WORD: ClassVar[str] = "free"
    RULES: ClassVar[tuple[FieldRule, ...]] = (word_field("state", State),)
    state: State


@dataclass(frozen=True, slots=True, kw_only=True)
class SetRequest(Order):
    """Changes a setting and keeps it.

    The setting is a trait, which answers from then on.
    """

    WORD: ClassVar[str] = "set"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
        int_field("session", 0, 65535),
    )
    index: int
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAnswer(Answer):
    """Answer to `set`."""

    WORD: ClassVar[str] = "set"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
    )
    index: int
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRequest(Request):
    """Asks for a quantity that the controller measures."""

    WORD: ClassVar[str] = "read"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("index", 0, 255),)
    index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadAnswer(Answer):
    """Answer to `read`."""

    WORD: ClassVar[str] = "read"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
    )
    index: int
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PutRequest(Order):
    """Sets a control.

    Moves nothing; refused in motion.
    """

    WORD: ClassVar[str] = "put"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
        int_field("session", 0, 65535),
    )
    index: int
    value: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PutAnswer(Answer):
    """Answer to `put`."""

    WORD: ClassVar[str] = "put"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("index", 0, 255),
        int_field("value", -2147483648, 2147483647),
        int_field("time", 0, 4294967295),
    )
    index: int
    value: int
    time: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallRequest(Request):
    """Asks for a notice again.

    it follows the answer, as it was first sent.
    """

    WORD: ClassVar[str] = "recall"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("notice", 0, 65535),)
    notice: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallAnswer(Answer):
    """Answer to `recall`."""

    WORD: ClassVar[str] = "recall"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("oldest", 0, 65535),
        int_field("next_notice", 0, 65535),
    )
    oldest: int
    next_notice: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRequest(Order):
    """Changes the line's rate.

    Answered at the old rate; see SPEC.md 9.
    """

    WORD: ClassVar[str] = "rate"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("bits_s", 115200, 250000),
        int_field("session", 0, 65535),
    )
    bits_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RateAnswer(Answer):
    """Answer to `rate`."""

    WORD: ClassVar[str] = "rate"
    RULES: ClassVar[tuple[FieldRule, ...]] = (int_field("bits_s", 115200, 250000),)
    bits_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StartNotice(Notice):
    """The controller started.

    Always notice 0.
    """

    WORD: ClassVar[str] = "start"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("lost", 0, 65535),
        int_field("boot", 0, 65535),
        word_field("reason", StartReason),
    )
    boot: int
    reason: StartReason


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeNotice(Notice):
    """An input changed."""

    WORD: ClassVar[str] = "edge"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("lost", 0, 65535),
        word_field("source", Source),
        flag_field("level"),
        int_field("position", -2147483648, 2147483647),
        int_field("time", 0, 4294967295),
        int_field("scale", -32768, 32767, optional=True),
    )
    source: Source
    level: bool
    position: int
    time: int
    scale: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RestNotice(Notice):
    """The axis came to rest."""

    WORD: ClassVar[str] = "rest"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("lost", 0, 65535),
        int_field("request", 0, 255),
        word_field("cause", RestCause),
        int_field("position", -2147483648, 2147483647),
        int_field("time", 0, 4294967295),
    )
    request: int
    cause: RestCause
    position: int
    time: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultNotice(Notice):
    """Something failed.

    a `rest` with cause `fault` follows if the axis was moving.
    """

    WORD: ClassVar[str] = "fault"
    RULES: ClassVar[tuple[FieldRule, ...]] = (
        int_field("lost", 0, 65535),
        int_field("fault", 1, 255),
        int_field("position", -2147483648, 2147483647),
        int_field("time", 0, 4294967295),
    )
    fault: int
    position: int
    time: int


REQUESTS: dict[str, type[Request]] = {
    HailRequest.WORD: HailRequest,
    TraitRequest.WORD: TraitRequest,
    LookRequest.WORD: LookRequest,
    TallyRequest.WORD: TallyRequest,
    FenceRequest.WORD: FenceRequest,
    HomeRequest.WORD: HomeRequest,
    GoRequest.WORD: GoRequest,
    TouchRequest.WORD: TouchRequest,
    RearmRequest.WORD: RearmRequest,
    FreeRequest.WORD: FreeRequest,
    SetRequest.WORD: SetRequest,
    ReadRequest.WORD: ReadRequest,
    PutRequest.WORD: PutRequest,
    RecallRequest.WORD: RecallRequest,
    RateRequest.WORD: RateRequest,
}

ANSWERS: dict[str, type[Answer]] = {
    HailAnswer.WORD: HailAnswer,
    TraitAnswer.WORD: TraitAnswer,
    LookAnswer.WORD: LookAnswer,
    TallyAnswer.WORD: TallyAnswer,
    FenceAnswer.WORD: FenceAnswer,
    HomeAnswer.WORD: HomeAnswer,
    GoAnswer.WORD: GoAnswer,
    TouchAnswer.WORD: TouchAnswer,
    RearmAnswer.WORD: RearmAnswer,
    FreeAnswer.WORD: FreeAnswer,
    SetAnswer.WORD: SetAnswer,
    ReadAnswer.WORD: ReadAnswer,
    PutAnswer.WORD: PutAnswer,
    RecallAnswer.WORD: RecallAnswer,
    RateAnswer.WORD: RateAnswer,
}

NOTICES: dict[str, type[Notice]] = {
    StartNotice.WORD: StartNotice,
    EdgeNotice.WORD: EdgeNotice,
    RestNotice.WORD: RestNotice,
    FaultNotice.WORD: FaultNotice,
}

# Requests that may carry number 0
HAND_REQUESTS: tuple[type[Request], ...] = (
    HailRequest,
    TraitRequest,
    LookRequest,
    TallyRequest,
    ReadRequest,
)
