"""SPEC.md 12: start and greeting."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    get_moving,
    keep,
    moves_not,
)
from firmware_protocol.messages import (
    StartNotice,
    StartReason,
    State,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


@clause(
    "12.1",
    "after a start: `raw`, count 0, notice 0 is `start`",
    Need.WORLD,
    greets=False,
)
def _start(host: Host) -> None:
    host.greet()
    before = host.look()
    host.wait(0.1)
    first = len(host.heard)
    host.world.restart()
    host.wait(0.2)
    starts = host.notices(StartNotice, first)
    host.expect(
        len(starts) == 1 and starts[0].number == 0 and starts[0].lost == 0,
        "one `n0 start 0 ...`",
        host.since(first),
    )
    host.expect(starts[0].reason is StartReason.BUTTON, "reason `button`", starts[0])
    host.expect(starts[0].boot != before.boot, "another `boot`", starts[0].boot)
    host.greet()
    after = host.look()
    host.expect(after.state is State.RAW and after.position == 0, "raw at 0", after)
    host.expect(after.boot == starts[0].boot, "the `boot` of the notice", after.boot)
    host.expect(after.time < 5_000_000, "a clock that begins anew", after.time)
    host.expect(after.next_notice == 1, "notice 1 next", after.next_notice)


@clause(
    "12.2", "after a start everything but `hail` is error 16", Need.WORLD, greets=False
)
def _no_greeting(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    for words in ("trait 0", "look", "tally"):
        host.gets(words, "no 16 0", 0)
    for words in (
        "fence 5 4 1",
        "home 1 1 1",
        "go 0 1 1 0 0 1",
        "touch 0 1 1",
        "rearm 1",
        "recall 0",
        "rate 115200 1",
    ):
        host.gets_bare(words, "no 16 0", host.number())
    host.gets("hail 1", "hail 1", 0)
    host.gets("look", "look raw")


@clause(
    "12.3",
    "a `hail` with another major version is error 4 and no greeting",
    Need.WORLD,
    greets=False,
)
def _other_major(host: Host) -> None:
    host.world.restart()
    host.wait(0.2)
    for major in (0, 2, 255):
        host.gets(f"hail {major}", "no 4 1")
    host.gets("look", "no 16 0")
    host.gets("hail 1", "hail 1")


@clause(
    "12.4", "a start in motion: the axis rests, home is lost", Need.MOVES, Need.WORLD
)
def _start_in_motion(host: Host) -> None:
    get_moving(host)
    keep(host, 0.1)
    host.world.restart()
    host.wait(0.2)
    host.greet()
    look = host.look()
    host.expect(look.state is State.RAW and look.position == 0, "raw at 0", look)
    moves_not(host)


@clause(
    "12.5",
    "after a start the rate is the first one",
    Need.WORLD,
    Need.RATE,
    Need.FAST_RATE,
)
def _first_rate(host: Host) -> None:
    host.gets("rate 250000", "rate 250000")
    host.set_rate(250000)
    host.wait(0.005)
    host.gets("look", "look")
    host.world.restart()
    host.set_rate(115200)
    host.wait(0.2)
    host.gets("hail 1", "hail 1")


@clause("12.6", "traits do not change with a start", Need.WORLD)
def _same_traits(host: Host) -> None:
    before = [host.ask(f"trait {index}") for index in range(11)]
    host.world.restart()
    host.wait(0.2)
    host.greet()
    after = [host.ask(f"trait {index}") for index in range(11)]
    host.expect(after == before, f"{before}", after)
