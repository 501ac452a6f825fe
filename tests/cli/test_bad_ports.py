"""Ports and served rigs that cannot be used: one sentence and the right status."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]
USAGE, RIG = 2, 3
MOUNTED = ("--sensor", "level-18", "--target", "steel")


@pytest.fixture(scope="module")
def tcp_rig(served: Callable[..., Any]) -> Iterator[str]:
    """A rig that is served to other processes and has nothing wrong with it."""
    with served("sim://", "--tcp", "0") as rig:
        yield rig


def test_a_real_rig_must_be_told_what_is_mounted(
    gapsweep: Gapsweep, tcp_rig: str
) -> None:
    outcomes = {
        "sensor": gapsweep("sweep", "--rig", tcp_rig, *MOUNTED[2:]),
        "target": gapsweep("sweep", "--rig", tcp_rig, *MOUNTED[:2]),
    }

    for missing, outcome in outcomes.items():
        assert outcome.status == USAGE
        assert outcome.sentence == (
            f"no {missing} is named: say which is mounted on the rig"
        )


def test_only_a_rig_in_this_process_tells_the_truth(
    gapsweep: Gapsweep, tcp_rig: str
) -> None:
    outcome = gapsweep("sweep", "--rig", tcp_rig, *MOUNTED, "--truth")

    assert outcome.status == USAGE
    assert outcome.sentence == "--truth goes with --rig sim:// only"


@contextmanager
def pseudo_terminal(answer: bytes) -> Iterator[str]:
    """A port that repeats the same bytes to whatever it is asked; gives its name."""
    import tty

    ours, theirs = os.openpty()
    tty.setraw(theirs)
    stopped = threading.Event()

    def keep_answering() -> None:
        while not stopped.wait(0.05):
            os.write(ours, answer)

    thread = threading.Thread(target=keep_answering, daemon=True)
    if answer:
        thread.start()
    try:
        yield os.ttyname(theirs)
    finally:
        stopped.set()
        if answer:
            thread.join()
        os.close(ours)
        os.close(theirs)


@pytest.mark.long
@pytest.mark.parametrize(
    "answer", [b"", b"ready> \r\n\xff\x00\x81~"], ids=["silent", "nonsense"]
)
def test_a_port_where_no_rig_answers_is_told_so(
    gapsweep: Gapsweep, answer: bytes
) -> None:
    with pseudo_terminal(answer) as port:
        outcome = gapsweep("check", "--rig", port)

    assert (outcome.status, outcome.out) == (RIG, "")
    assert port in outcome.sentence
    assert "greeting" in outcome.sentence
    assert "is the rig powered?" in outcome.hint


@pytest.mark.long
def test_a_rig_that_speaks_a_later_protocol_is_told_so(
    gapsweep: Gapsweep, served: Callable[..., Any]
) -> None:
    with served("sim://?fault=too_new") as port:
        outcome = gapsweep("sweep", "--rig", port, *MOUNTED)

    assert (outcome.status, outcome.out) == (RIG, "")
    assert outcome.sentence.startswith(
        f"the rig at {port} does not speak major version 1"
    )
    assert outcome.hint == "update this software, or flash the matching firmware"


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--tcp", "70000"), "Invalid value for '--tcp': 70000 is not in the range"),
        (("tcp://7",), "'tcp://7' is not the name of a simulated rig"),
        (("sim://?fault=rust",), "simulated rig: option fault is 'rust', but "),
    ],
)
def test_a_simulation_that_there_is_not_is_not_served(
    gapsweep: Gapsweep, arguments: tuple[str, ...], sentence: str
) -> None:
    outcome = gapsweep("simulate", *arguments)

    assert (outcome.status, outcome.out) == (USAGE, "")
    assert outcome.sentence.startswith(sentence)


def test_a_tcp_port_that_is_taken_is_told_so(gapsweep: Gapsweep, tcp_rig: str) -> None:
    outcome = gapsweep("simulate", "--tcp", tcp_rig.rpartition(":")[2])

    assert outcome.status == RIG
    assert outcome.sentence.startswith("the simulated rig cannot be served: ")


@pytest.mark.long
def test_on_a_real_rig_a_plan_needs_somebody_to_mount_what_it_asks_for(
    gapsweep_process: Gapsweep, tcp_rig: str, own_place: Path
) -> None:
    (own_place / "week.toml").write_text(
        'title = "Week 12"\n[[run]]\nsensors = ["level-18"]\ntargets = ["steel"]\n',
        "utf-8",
    )

    outcome = gapsweep_process("run", "week.toml", "--rig", tcp_rig)

    assert outcome.status == USAGE
    assert outcome.sentence == (
        "level-18 and steel must be mounted by hand, and no one answers here"
    )
    assert outcome.hint == "run the plan from a terminal, or use a simulated rig"
