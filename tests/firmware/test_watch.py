"""`watch` on a controller that has just got its power and was never homed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

import pytest

from firmware_protocol.conformance.controllers import Bench, Value
from firmware_protocol.conformance.controllers.avr_image import AvrImage
from firmware_protocol.messages import Input
from rig.link.link import Link
from rig.model.watched_inputs import WatchedInput, WatchedInputs
from rig.procedures.input_watch import watch_inputs
from tests.conformance.host_core import HostCore

_SLICE_S = 0.001
FAR_STEPS = 60_000.0


class LockstepTransport:
    """A bench as a transport: its time passes while the host waits."""

    name = "bench"
    has_rate = False

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def read(self, longest_wait_s: float) -> bytes:
        until_s = self._bench.now_s + longest_wait_s
        while not (data := self._bench.take_output()) and self._bench.now_s < until_s:
            self._bench.advance(_SLICE_S)
        return data

    def write(self, data: bytes) -> None:
        self._bench.feed(data)

    def set_rate(self, bits_s: int) -> None:
        raise AssertionError("a link without a rate is asked for none")

    def now_s(self) -> float:
        return self._bench.now_s

    def close(self) -> None:
        """Nothing to let go of."""


@pytest.fixture(params=[HostCore, pytest.param(AvrImage, marks=pytest.mark.long)])
def bench(
    request: pytest.FixtureRequest, needs: Callable[..., None]
) -> Iterator[Bench]:
    needs("make", "gcc", *(["avr-gcc"] if request.param is AvrImage else []))
    with request.param() as bench:
        yield bench


def watched(bench: Bench) -> Iterator[WatchedInputs]:
    link = Link(LockstepTransport(bench))
    return watch_inputs(link, link.greet(), longest_s=None)


def settled(views: Iterator[WatchedInputs]) -> dict[str, WatchedInput]:
    """Return the inputs, once what was just done at them has been seen."""
    *_, seen = islice(views, 3)
    return {each.name: each for each in seen.inputs}


def test_every_input_is_followed_and_nothing_moves(bench: Bench) -> None:
    views = watched(bench)
    first = next(views)
    at_rest = settled(views)

    bench.set(Value.PROBE_AT, -FAR_STEPS)
    touched = settled(views)
    bench.set(Value.PROBE_AT, FAR_STEPS)
    bench.set(Value.HOME_AT, FAR_STEPS)
    at_home = settled(views)
    bench.set(Value.OUT_FORCED, 1.0)
    operated = settled(views)
    bench.set(Value.DRIVE, 0.0)
    stopped = settled(views)

    assert (first.state, first.position_steps, first.fault) == ("raw", 0, "")
    assert first.probe_proven is False
    assert {name: each.changes for name, each in at_rest.items()} == dict.fromkeys(
        at_rest, 0
    )
    assert touched["touch probe"].active is True
    assert touched["touch probe"].changes == 1
    assert at_home["touch probe"].active is False
    assert at_home["touch probe"].changes == 2
    assert at_home["home switch"].active is True
    assert at_home["home switch"].changes == 1
    assert operated["sensor's output"].active is True
    assert operated["sensor's output"].changes == 1
    assert stopped["motor's drive"].active is False
    assert stopped["motor's drive"].changes == 1
    last = next(views)
    assert (last.state, last.fault) == ("held", "drive lost")
    assert last.probe_proven is True
    assert bench.get(Value.PULSES_UP) == bench.get(Value.PULSES_DOWN) == 0.0
    assert bench.get(Value.ENABLED) == 0.0


@pytest.mark.parametrize(
    ("wire", "name"),
    [
        (Input.PROBE, "touch probe"),
        (Input.HOME, "home switch"),
        (Input.DRIVE, "motor's drive"),
    ],
)
def test_a_wire_pulled_off_reads_as_what_stops_the_axis(
    bench: Bench, wire: Input, name: str
) -> None:
    views = watched(bench)
    before = settled(views)[name]

    bench.set(Value.BROKEN, float(wire))
    after = settled(views)[name]

    assert before.fail_safe is True
    assert after.active is (wire is not Input.DRIVE)
    assert after.active is not before.active
