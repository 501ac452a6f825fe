"""SPEC.md 7: what the answers tell."""

from __future__ import annotations

from firmware_protocol.conformance.clause import Broken, Chapter, Need
from firmware_protocol.conformance.host import Host
from firmware_protocol.conformance.motion import (
    begin_motion,
    get_ready,
    get_to,
    get_unfenced,
    home_words,
    keep,
    rest_of,
)
from firmware_protocol.messages import (
    Ability,
    HailAnswer,
    Input,
    Trait,
)

CHAPTER = Chapter()
clause = CHAPTER.clause


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
        (0 <= value[Trait.FAIL_SAFE] < 32, "a sum of inputs"),
        (0 <= value[Trait.MIN_PULSE] <= 5000, "a pulse of 0 to 5000 us"),
        (0 <= value[Trait.ENABLE_REST] <= 3600, "a rest of 0 to 3600 s"),
        (
            1 <= value[Trait.HOME_CLEAR] < value[Trait.HOME_SEARCH] <= high,
            "HOME_CLEAR below HOME_SEARCH, and that within the travel",
        ),
        (value[Trait.BUILD] >= 0, "a build of 0 or more"),
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
        abs(came_s - took_s) <= room_s,
        f"{took_s:.3f} s gone by its clock, which counts us",
        f"{came_s:.6f} s",
    )


@clause("7.5", "`inputs` leaves out a probe that is not fitted")
def _no_probe(host: Host) -> None:
    inputs = host.look().inputs
    fitted = host.able(Ability.TOUCH_PROBE)
    of_probe = inputs & (Input.PROBE | Input.PROBE_SEEN)
    host.expect(fitted or not of_probe, "no PROBE in `inputs`", inputs)
    host.expect(0 <= inputs < 64, "no unknown input", inputs)


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
