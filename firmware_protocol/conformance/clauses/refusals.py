"""SPEC.md 6: the order of the refusals."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    field_of,
    get_moving,
    get_raw,
    get_ready,
    get_to,
    get_unfenced,
    hold,
    other_session,
)
from firmware_protocol.messages import (
    Ability,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


@clause("6.10", "refusals by form: 1, 13, 2, 3, 4 in this order")
def _order_of_form(host: Host) -> None:
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
    host.gets_bare("rearm 1", "no 16 0", 1)
    host.gets("look 1", "no 16 0")
    host.gets("go x", "no 16 0")
    host.gets("trait 255", "no 16 0")


@clause("6.12", "error 3 comes before 18, 14 and 8; 8 before 5, 11, 15 and 9")
def _order_held(host: Host) -> None:
    get_raw(host)
    hold(host)
    field = field_of(host)
    host.gets("fence 5 4", "no 3 2")
    host.gets("go 0 0 1 0 0", "no 3 2")
    host.gets("home 1 1", "no 8 0", number := host.number())
    host.gets_bare("home 1 0 65536", "no 3 2", number)
    host.gets_bare(host.in_session("home 1 2"), "no 14 0", number)
    host.gets_bare(f"home 1 2 {other_session(host)}", "no 18 0", number)
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
