"""A trace of the wire: written as it happens, read back, and played back as it was."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import InputError, LinkError, LinkLost, RigError
from rig.link.link import Link
from rig.link.replayed_port import ReplayedPort
from rig.link.trace import (
    FIRST_LINE,
    Mark,
    Trace,
    TraceEvent,
    read_trace,
    trace_line,
)
from rig.link.traced_port import TracedPort
from rig.model.settings import BenchSettings
from rig.procedures.mover import Mover
from rig.procedures.touch_off import touch_off
from rig.wiring import SimTransport, connect
from sim.options import build, read_options

SETTINGS = BenchSettings()


@given(st.binary(min_size=1, max_size=80), st.integers(0, 10**12))
def test_any_bytes_come_back_as_they_were(data: bytes, time_us: int) -> None:
    event = TraceEvent(time_us=time_us, mark=Mark.FROM_RIG, data=data)

    text = f"{FIRST_LINE}\n{trace_line(event)}"

    assert text.isascii()
    assert read_trace(text, "wire.trace").events == (event,)


def traced(path: Path, fault: str = "") -> tuple[Link, str]:
    """Touch off on a simulated rig with a trace; return the link and how it ended."""
    options = {"seed": "3"} | ({"fault": fault} if fault else {})
    port = SimTransport("sim://", build(read_options(options)), real_pace=False)
    link = Link(TracedPort(port, path))
    said = touched_off(link)
    link.close()
    return link, said


def touched_off(link: Link) -> str:
    try:
        mover = Mover(link, link.greet(), acceleration_mm_s2=100.0)
        bench = touch_off(mover, SETTINGS, lambda _: None)
    except RigError as exc:
        return str(exc)
    return repr(bench.datum.position_steps)


@pytest.mark.parametrize(
    "fault", ["", "garble_to_host:0.003", "restart_at:6", "supply_lost:4"]
)
def test_a_replay_ends_as_the_original_did(tmp_path: Path, fault: str) -> None:
    path = tmp_path / "wire.trace"
    link, said = traced(path, fault)

    trace = read_trace(path.read_text(), str(path))
    again = Link(ReplayedPort("sim://", trace))

    assert touched_off(again) == said
    assert again.damaged_lines == link.damaged_lines
    assert again.recalls == link.recalls
    assert ("restarted" in said) == (fault == "restart_at:6")


def test_a_stop_that_somebody_asked_for_is_asked_for_again(tmp_path: Path) -> None:
    path = tmp_path / "wire.trace"
    port = SimTransport("sim://", build(read_options({"seed": "3"})), real_pace=False)
    link = Link(TracedPort(port, path))
    read = port.read

    def stopping(longest_wait_s: float) -> bytes:
        if port.now_s() > 3.0 and not link.stop_asked:
            link.stop()
        return read(longest_wait_s)

    port.read = stopping  # type: ignore[method-assign]
    said = touched_off(link)
    link.close()

    again = ReplayedPort("trace", read_trace(path.read_text(), "trace"))
    replayed = Link(again)
    again.on_stop = replayed.stop

    assert said == "stopped on request"
    assert touched_off(replayed) == said


def test_a_host_that_does_something_else_is_told_where(tmp_path: Path) -> None:
    path = tmp_path / "wire.trace"
    traced(path)
    link = Link(ReplayedPort("trace", read_trace(path.read_text(), "trace")))
    traits = link.greet()
    mover = Mover(link, traits, acceleration_mm_s2=90.0)

    mover.make_ready()
    with pytest.raises(LinkError, match="the replay of trace parts from its trace at"):
        mover.home(9.0)


def test_a_trace_that_was_cut_off_ends_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "wire.trace"
    traced(path)
    text = path.read_text()
    half = text[: len(text) // 2]
    link = Link(ReplayedPort("trace", read_trace(half, "trace")))

    with pytest.raises(LinkLost, match="the trace trace ends here"):
        touch_off(
            Mover(link, link.greet(), acceleration_mm_s2=100.0),
            SETTINGS,
            lambda _: None,
        )


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no trace of a wire"),
        ("something else\n", "no trace of a wire"),
        (f"{FIRST_LINE}\n12 > &q\\xzz\n", "line 2: it is no event"),
        (f"{FIRST_LINE}\n12 > a\n11 > b\n", "line 3: it is no event"),
        (f"{FIRST_LINE}\n12 ? a\n", "line 2: it is no event"),
    ],
)
def test_what_is_no_trace_is_refused_in_a_sentence(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_trace(text, "wire.trace")


def test_a_trace_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "wire.trace"
    path.write_text("mine")

    with pytest.raises(InputError, match="is there already"):
        connect("sim://", SETTINGS, trace=path)

    assert path.read_text() == "mine"


def test_an_empty_trace_is_a_trace() -> None:
    assert read_trace(f"{FIRST_LINE}\n", "x") == Trace(
        head=(FIRST_LINE[2:],), events=()
    )
