"""Hosts held against their duties: our own link, and one that is wrong on purpose."""

from __future__ import annotations

import signal
import subprocess
import sys
from dataclasses import dataclass, field

import pytest

from firmware_protocol import Receiver, encode
from firmware_protocol.conformance.clause import Verdict
from firmware_protocol.conformance.hosts import Duty, HostTrial, Scene
from firmware_protocol.messages import (
    Answer,
    EdgeNotice,
    FenceRequest,
    GoRequest,
    HailAnswer,
    HailRequest,
    HomeRequest,
    LookAnswer,
    LookRequest,
    Notice,
    Order,
    RateRequest,
    RearmRequest,
    RecallRequest,
    Refusal,
    Request,
    RestNotice,
    Source,
    TouchRequest,
)
from rig.catalogue.catalogue import load_catalogue
from rig.errors import LinkError, MotionOverdue, RigRestarted
from rig.link.link import Link
from rig.model.settings import BenchSettings
from rig.model.sweeps import Run, Sweep
from rig.procedures.carry_out_run import touch_off_and_run
from rig.procedures.mover import Mover
from rig.procedures.run_context import RunContext
from rig.procedures.run_order import RunOrder
from rig.records import open_records
from rig.wiring import SimTransport
from sim.device import Controller
from sim.options import build, read_options
from tests.patience import PATIENCE_S

SHARE = 0.06
SETTINGS = BenchSettings()
NOISY_SWEEPS = 14


def verdicts(trial: HostTrial) -> dict[Duty, Verdict]:
    return {result.duty: result.verdict for result in trial.judge.results()}


def broken(trial: HostTrial) -> set[Duty]:
    return {d for d, verdict in verdicts(trial).items() if verdict is Verdict.FAILS}


# ------------------------------------------------------------------ our own link


def measured(controller: Controller | HostTrial, *, sweeps: int = NOISY_SWEEPS) -> Run:
    """Touch off and sweep with our own host; return the run on record."""
    transport = SimTransport("sim://", controller, real_pace=False)  # type: ignore[arg-type]
    link = Link(transport)
    mover = Mover(link, link.greet(), acceleration_mm_s2=SETTINGS.acceleration_mm_s2)
    catalogue = load_catalogue()
    order = RunOrder(
        sensor=catalogue.sensor("level-18"),
        target=catalogue.target("steel"),
        sweeps=sweeps,
        speeds_mm_s=(1.0, 4.0),
    )
    with open_records(":memory:") as store:
        context = RunContext.on(mover, SETTINGS, store, lambda _: None)
        try:
            return touch_off_and_run(order, context).run
        finally:
            transport.read(0.01)  # what was written last is on its way now


def plain() -> Controller:
    return build(read_options({"seed": "7", "noise_um": "0"}))


def test_our_link_keeps_every_duty_at_six_per_cent_and_every_edge_is_right() -> None:
    quiet = measured(plain())
    trial = HostTrial(plain(), seed=4, share=SHARE)

    noisy = measured(trial)

    assert broken(trial) == set(), trial.judge.results()
    assert min(trial.damaged) >= 20
    tried = {d for d, v in verdicts(trial).items() if v is Verdict.CONFORMS}
    assert tried >= {
        Duty.LINES,
        Duty.GREETING,
        Duty.LOOKS,
        Duty.SAME_ORDER,
        Duty.SESSION,
        Duty.NUMBERS,
        Duty.RECALL,
        Duty.PROBE,
    }
    good = [sweep for sweep in noisy.sweeps if not sweep.void]
    assert len(good) == NOISY_SWEEPS
    assert [_places(sweep) for sweep in good] == [_places(s) for s in quiet.sweeps]


@pytest.mark.long
def test_that_holds_whatever_falls_where() -> None:
    """Four lines in a row may be lost, and the axis then stops: that is no figure."""
    quiet = [_places(sweep) for sweep in measured(plain()).sweeps]
    ended, came = 0, []
    for seed in range(30):
        trial = HostTrial(plain(), seed=seed, share=SHARE)
        try:
            came.append([_places(s) for s in measured(trial).sweeps if not s.void])
        except LinkError:
            ended += 1
        assert broken(trial) == set(), (seed, trial.judge.results())

    assert ended <= 2
    assert came == [quiet] * (30 - ended)


def _places(sweep: Sweep) -> list[tuple[int, int]]:
    return [(edge.position_steps, int(edge.level)) for edge in sweep.edges]


def test_our_link_takes_all_for_lost_when_the_controller_restarts() -> None:
    trial = HostTrial(plain(), seed=1, share=0.0, scene=Scene.RESTART)

    with pytest.raises(RigRestarted):
        measured(trial)

    assert broken(trial) == set()
    assert verdicts(trial)[Duty.RESTART] is Verdict.CONFORMS


def test_our_link_stops_a_motion_that_does_not_end() -> None:
    trial = HostTrial(plain(), seed=1, share=0.0, scene=Scene.STALL)

    with pytest.raises(MotionOverdue):
        measured(trial)

    assert broken(trial) == set()
    assert verdicts(trial)[Duty.DEADLINE] is Verdict.CONFORMS


# ------------------------------------------------------------- a host of a stranger


@dataclass
class Stranger:
    """A small host written from SPEC.md 13; `wrong` names what it does badly."""

    trial: HostTrial
    wrong: str = ""
    notices: dict[int, Notice] = field(default_factory=dict)
    expected: int | None = None
    announced: int | None = None
    session: int = 0
    boot: int | None = None
    order: int = 0
    reading: int = 127
    state: str = ""

    def __post_init__(self) -> None:
        self.receiver = Receiver()
        self.replies: list[Answer | Refusal] = []

    # -------------------------------------------------------------------- the wire

    def wait(self, seconds: float) -> None:
        until_us = self.trial.now_us + round(seconds * 1e6)
        while self.trial.now_us < until_us:
            self.trial.advance_once(until_us)
            for item in self.receiver.feed(self.trial.take_output()):
                if isinstance(item, Answer | Refusal):
                    self.replies.append(item)
                elif isinstance(item, Notice):
                    self.notices.setdefault(item.number, item)

    def say(self, message: Request) -> None:
        self.trial.receive(encode(message))

    def reply(self, number: int, seconds: float) -> Answer | Refusal | None:
        for _ in range(round(seconds / 0.01)):
            for reply in self.replies:
                if reply.number == number:
                    self.replies.clear()
                    return reply
            self.wait(0.01)
        return None

    def read(self, kind: type[Request], **fields: int) -> Answer | Refusal:
        for _ in range(40):
            self.reading = 128 if self.reading == 255 else self.reading + 1
            self.say(kind(number=self.reading, **fields))
            found = self.reply(self.reading, 0.1)
            if found is not None:
                return found
        raise AssertionError("it gives no answer to a reading")

    # ---------------------------------------------------------------------- duties

    def greet(self) -> None:
        for number in range(128, 150):
            self.say(HailRequest(number=number, major=1))
            if self.wrong == "impatient":
                self.say(LookRequest(number=255))
            answer = self.reply(number, 0.3)
            if isinstance(answer, HailAnswer):
                self.session, self.boot, self.order = answer.session, answer.boot, 0
                break
        if self.wrong == "stale session":
            self.session = (self.session - 1) % 65536
        if self.expected is None:
            self.look()

    def look(self) -> None:
        answer = self.read(LookRequest)
        if isinstance(answer, Refusal):
            if self.wrong != "sees no restart":
                raise Restarted
            return
        assert isinstance(answer, LookAnswer)
        self.state = answer.state.value
        if self.expected is None:
            self.expected = self.announced = answer.next_notice
        if answer.boot != self.boot and self.wrong != "sees no restart":
            raise Restarted
        if self.wrong != "recalls nothing":
            ahead = (self.announced - self.expected) % 65536
            missing = range(ahead if ahead < 32768 else 0)
            for number in ((self.expected + k) % 65536 for k in missing):
                if number not in self.notices:
                    self.read(RecallRequest, notice=number)
        while self.expected in self.notices:
            self.expected = (self.expected + 1) % 65536
        self.announced = answer.next_notice

    def give(self, kind: type[Order], **fields: int) -> Answer | Refusal | None:
        if self.wrong != "one number for all" or not self.order:
            self.order += 1
        message = kind(number=self.order, session=self.session, **fields)
        for _ in range(8):
            self.say(message)
            if self.wrong == "repeats after a stop":
                self.trial.receive(b"###")
                self.say(message)
            reply = self.reply(message.number, 0.1)
            if reply is not None:
                return reply
            if self.wrong == "renumbers":
                self.order += 1
                message = kind(number=self.order, session=self.session, **fields)
        self.greet()
        return None

    def follow(self, reply: Answer | Refusal | None, deadline_s: float) -> None:
        if not isinstance(reply, Answer):
            return
        pause_s = 0.4 if self.wrong == "looks seldom" else 0.08
        until_us = self.trial.now_us + round(deadline_s * 1e6)
        while not self.rested(reply.number):
            self.look()
            self.wait(pause_s)
            if self.trial.now_us > until_us:
                if self.wrong != "waits for ever":
                    self.trial.receive(b"###")
                return
            if self.state not in ("moving", "seeking") and self.wrong:
                return

    def rested(self, number: int) -> bool:
        rests = [n for n in self.notices.values() if isinstance(n, RestNotice)]
        return any(rest.request == number for rest in rests)

    # ------------------------------------------------------------------------- job

    def measure(self) -> list[int]:
        """Home, go to and fro over the switching point; return where it switched."""
        self.greet()
        if self.wrong == "speaks its own words":
            self.trial.receive(b"&q1 Look 0000\n")
        if self.wrong == "repeats a rate":
            rate = RateRequest(number=1, session=self.session, bits_s=115200)
            for _ in range(2):
                self.say(rate)
                self.reply(1, 0.1)
            self.order = 1
        self.give(RearmRequest)
        self.follow(self.give(HomeRequest, fast=16000, slow=400), 60.0)
        self.give(FenceRequest, low=400, high=45000)
        go = {"speed": 1600, "acceleration": 160000, "edges": 1, "overrun": 200}
        for target in (45000, 400, 45000, 400):
            self.follow(self.give(GoRequest, target=target, **go), 60.0)
        if self.wrong == "touches at once":
            self.follow(self.give(TouchRequest, target=45000, speed=800), 60.0)
        for _ in range(6):
            self.look()
        edges = [n for n in self.notices.values() if isinstance(n, EdgeNotice)]
        return [e.position for e in edges if e.source is Source.OUT]


class Restarted(Exception):
    """The controller has restarted."""


def tried(wrong: str, scene: Scene, share: float, **options: str) -> HostTrial:
    controller = build(read_options({"seed": "7", **options}))
    trial = HostTrial(controller, seed=3, share=share, scene=scene)
    host = Stranger(trial, wrong)
    try:
        host.measure()
    except Restarted:
        host.greet()
    return trial


@pytest.mark.parametrize("scene", Scene)
def test_a_stranger_who_keeps_to_the_chapter_is_found_to_keep_every_duty(
    scene: Scene,
) -> None:
    trial = tried("", scene, SHARE)

    assert broken(trial) == set(), trial.judge.results()
    kept = {d for d, v in verdicts(trial).items() if v is Verdict.CONFORMS}
    assert kept >= {Duty.GREETING, Duty.SESSION, Duty.NUMBERS, Duty.LINES}


WRONG: dict[str, tuple[Duty, Scene, float]] = {
    "impatient": (Duty.GREETING, Scene.NOISE, 0.0),
    "looks seldom": (Duty.LOOKS, Scene.NOISE, 0.0),
    "renumbers": (Duty.SAME_ORDER, Scene.NOISE, 0.3),
    "stale session": (Duty.SESSION, Scene.NOISE, 0.0),
    "one number for all": (Duty.NUMBERS, Scene.NOISE, 0.0),
    "recalls nothing": (Duty.RECALL, Scene.NOISE, 0.3),
    "sees no restart": (Duty.RESTART, Scene.RESTART, 0.0),
    "repeats after a stop": (Duty.AFTER_STOP, Scene.NOISE, 0.0),
    "touches at once": (Duty.PROBE, Scene.NOISE, 0.0),
    "repeats a rate": (Duty.RATE, Scene.NOISE, 0.0),
    "waits for ever": (Duty.DEADLINE, Scene.STALL, 0.0),
    "speaks its own words": (Duty.LINES, Scene.NOISE, 0.0),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_wrong_host_is_caught_by_the_very_duty(wrong: str) -> None:
    duty, scene, share = WRONG[wrong]

    trial = tried(wrong, scene, share, fault="probe_untapped")

    assert duty in broken(trial), trial.judge.results()
    others = broken(trial) - {duty}
    assert others <= {Duty.NUMBERS, Duty.RESTART}, trial.judge.results()


def test_every_duty_has_a_host_that_breaks_it() -> None:
    assert {duty for duty, *_ in WRONG.values()} == set(Duty)


# ---------------------------------------------------------------------- the command


@pytest.mark.long
def test_one_command_serves_the_trial_and_tells_at_the_end() -> None:
    command = [sys.executable, "-m", "sim.host_trial", "--tcp", "0"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        where = process.stdout.readline().strip()
        watch = "from rig.cli.main import main; main()"
        told = subprocess.run(
            [sys.executable, "-c", watch, "watch", "--rig", where, "--seconds", "2"],
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            check=False,
        )
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE_S)

    assert told.returncode == 0, told.stderr
    assert process.returncode == 0, out + err
    assert "13.1   kept" in out
    assert "13.9   not tried" in out
