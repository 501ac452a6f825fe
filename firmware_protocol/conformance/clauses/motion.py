"""SPEC.md 10: `go` to its target, and the limits of orders."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    ends,
    fast_words,
    get_ready,
    get_to,
    get_unfenced,
    go_to,
    is_in,
    order,
    rest_of,
    slow_words,
    under_way,
)
from firmware_protocol.messages import RestCause, State, Trait

CHAPTER = Chapter()
clause = CHAPTER.clause


@clause("10.1", "`go` comes to rest at its target: `there`, state `ready`", Need.MOVES)
def _there(host: Host) -> None:
    field = get_to(host, 0.1)
    for share in (0.5, 0.2, 0.21):
        for words in (
            fast_words(field, field.at(share)),
            slow_words(field, field.at(share) + 9),
        ):
            number = begin_motion(host, words)
            rest = rest_of(host, number)
            look = host.look()
            host.expect(
                rest.cause is RestCause.THERE
                and str(rest.position) == words.split()[1]
                and look.position == rest.position,
                f"`there` at the target of `{words}`",
                f"{rest}, then {look}",
            )
            host.expect(look.state is State.READY, "state ready", look.state)


@clause("10.2", "step pulses and step count agree", Need.MOVES, Need.WORLD)
def _pulses(host: Host) -> None:
    field = get_to(host, 0.1)
    offset = host.world.pulses() - host.look().position
    for share in (0.9, 0.3, 0.30001, 0.1):
        go_to(host, field.at(share))
        host.wait(0.02)
        came = host.world.pulses() - offset
        host.expect(came == field.at(share), f"{field.at(share)} by pulses", came)


@clause(
    "10.3",
    "the soft limits themselves are allowed, a step beyond is error 9",
    Need.MOVES,
)
def _limits(host: Host) -> None:
    field = get_ready(host)
    low, high = field.at(0.2), field.at(0.3)
    host.gets(f"fence {low} {high}", f"fence {low} {high}")
    ends(host, fast_words(field, low), RestCause.THERE, low)
    ends(host, fast_words(field, high), RestCause.THERE, high)
    for target in (low - 1, high + 1, -(2**31), 2**31 - 1):
        host.gets(fast_words(field, target), "no 9 1")


@clause("10.4", "soft limits lie within the travel, its ends included", Need.MOVES)
def _travel(host: Host) -> None:
    get_unfenced(host)
    low, high = host.trait(Trait.TRAVEL_LOW), host.trait(Trait.TRAVEL_HIGH)
    host.gets(f"fence {low - 1} {high}", "no 9 1")
    host.gets(f"fence {low} {high + 1}", "no 9 2")
    host.gets(f"fence {low - 1} {high + 1}", "no 9 1")
    host.gets(f"fence {high + 1} {high + 2}", "no 9 1")
    host.gets(f"fence {low - 2} {low - 1}", "no 9 1")
    host.gets("fence -2147483648 2147483647", "no 9 1")
    is_in(host, State.UNFENCED)
    host.gets(f"fence {low} {high}", f"fence {low} {high}")


@clause("10.5", "a refused `fence` leaves the old one in force", Need.MOVES)
def _fence_stays(host: Host) -> None:
    field = get_ready(host)
    host.gets(f"fence {field.low} {host.trait(Trait.TRAVEL_HIGH) + 1}", "no 9 2")
    host.gets(slow_words(field, field.high + 1), "no 9 1")
    is_in(host, State.READY)


@clause(
    "10.6",
    "speed and acceleration at their limits are taken, above is error 15",
    Need.MOVES,
)
def _too_fast(host: Host) -> None:
    field = get_to(host, 0.1)
    speed, acceleration = (
        host.trait(Trait.SPEED_LIMIT),
        host.trait(Trait.ACCELERATION_LIMIT),
    )
    target = field.at(0.2)
    if speed < 1_000_000:
        host.gets(f"go {target} {speed + 1} {acceleration} 0 0", "no 15 2")
        host.gets(f"home {speed + 1} {field.slow}", "no 15 1")
    if acceleration < 10_000_000:
        host.gets(f"go {target} {speed} {acceleration + 1} 0 0", "no 15 3")
    host.gets(f"home {field.fast} {field.slow + 1}", "no 15 2")
    ends(host, f"go {target} {speed} {acceleration} 0 0", RestCause.THERE, target)


@clause(
    "10.7",
    "a motion to where the axis is ends at once, with the time of the order",
    Need.MOVES,
)
def _no_way(host: Host) -> None:
    field = get_to(host, 0.1)
    here = field.at(0.1)
    for words in (fast_words(field, here), slow_words(field, here, 1, 5)):
        host.wait(0.3)
        before = host.look()
        rest = ends(host, words, RestCause.THERE, here)
        after = host.look()
        gone = (rest.time - before.time) % 2**32
        host.expect(
            gone <= (after.time - before.time) % 2**32,
            "the time of the order in `rest`",
            f"{rest.time}, between {before.time} and {after.time}",
        )
        host.expect(after.state is State.READY, "state ready", after.state)


@clause("10.8", "the way there takes the time of constant acceleration", Need.MOVES)
def _duration(host: Host) -> None:
    field = get_to(host, 0.0)
    speed, steps = field.fast, field.high - field.low
    acceleration = max(1, field.acceleration // 4)
    before = host.look()
    rest = order(host, f"go {field.high} {speed} {acceleration} 0 0")
    came_s = ((rest.time - before.time) % 2**32) * 1e-6
    # A ramp may begin at START_SPEED or at 0
    slowest_s = steps / speed + speed / acceleration
    fastest_s = steps / speed + (speed - field.slow) ** 2 / (acceleration * speed)
    room_s = 0.03 + 0.02 * slowest_s + host.subject.latency_s
    host.expect(
        fastest_s - 0.02 * fastest_s <= came_s <= slowest_s + room_s,
        f"{fastest_s:.3f} to {slowest_s:.3f} s",
        f"{came_s:.3f} s",
    )


@clause("10.9", "on its way the count runs from here to there", Need.MOVES)
def _monotone(host: Host) -> None:
    field = get_to(host, 0.1)
    number = begin_motion(host, fast_words(field, field.at(0.5)))
    seen = [field.at(0.1)]
    for _ in under_way(host, number):
        seen.append(host.look().position)
        host.wait(0.005)
    host.expect(
        seen == sorted(seen) and seen[-1] <= field.at(0.5), "a rising count", seen[-9:]
    )
