"""The bench check: link, home, scale, backlash, wiring; says what is fit to measure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from firmware_protocol.messages import Ability, Input, TallyAnswer, TallyRequest
from rig.errors import BenchError, MotionFault
from rig.inquiry.touch_off_figures import touch_off_figures
from rig.model.mounted import OutputKind, Sensor
from rig.model.settings import BenchSettings
from rig.procedures.events import StepBegan, Tell
from rig.procedures.homing_check import check_home
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.touch_off import touch_off
from rig.sheets.touch_off_sheet import touch_off_rows

_LARGE_BACKLASH_MM = 0.2  # above that the screw or its nut is worn (common practice)
_LOOKS = 20


class Fitness(StrEnum):
    """What a check says of one thing."""

    FIT = "fit"
    UNPROVEN = "unproven"
    UNFIT = "unfit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One line of a bench check.

    Attributes:
        subject: What was looked at.
        fitness: Whether it is fit for measuring.
        sentence: What was found, with unit and uncertainty where it is a figure.
    """

    subject: str
    fitness: Fitness
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCheck:
    """All findings, and the bench if it is fit.

    Attributes:
        findings: Findings in the order in which they were made.
        bench: Touched off; None if that was not possible.
    """

    findings: tuple[Finding, ...]
    bench: Bench | None

    @property
    def fit(self) -> bool:
        """Whether nothing stands against measuring."""
        return all(finding.fitness is not Fitness.UNFIT for finding in self.findings)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckDocument:
    """A bench check as the JSON document that `check` prints.

    Attributes:
        simulated: Whether the rig is simulated.
        fit: Whether nothing stands against measuring.
        findings: Findings in the order in which they were made.
    """

    simulated: bool
    fit: bool
    findings: tuple[Finding, ...]


def check_bench(
    mover: Mover, settings: BenchSettings, tell: Tell, *, sensor: Sensor | None
) -> BenchCheck:
    """Look at everything that a measurement rests on.

    Args:
        mover: The axis.
        settings: How it is driven.
        tell: Told of progress.
        sensor: What is mounted, if the level of its idle output is to be judged.

    Raises:
        Stopped: Somebody stopped it.
        LinkError: The link failed.
    """
    findings = [_link_finding(mover)]
    bench: Bench | None = None
    at_home = False
    try:
        bench = touch_off(mover, settings, tell)
        findings += [_home_finding(mover), *_zero_findings(bench)]
        tell(StepBegan(what="homing again"))
        home = check_home(bench)
        bench, at_home = home.bench, True
        findings.append(_repeat_finding(home.shift_steps, home.lost_steps, bench))
    except (BenchError, MotionFault) as exc:
        sentence = f"{exc}; {exc.hint}" if exc.hint else str(exc)
        findings.append(
            Finding(subject="axis", fitness=Fitness.UNFIT, sentence=sentence)
        )
    findings.append(_scale_finding(mover))
    tell(StepBegan(what="looking at the output"))
    findings.append(
        _output_finding(mover, sensor if at_home else None, at_home=at_home)
    )
    findings.append(_tally_finding(mover))
    return BenchCheck(findings=tuple(findings), bench=bench)


def _link_finding(mover: Mover) -> Finding:
    traits = mover.traits
    sentence = (
        f"{mover.link.name} answers: rig {traits.rig_id}, firmware "
        f"{traits.firmware_version}, protocol {traits.protocol_version}"
    )
    return Finding(subject="link", fitness=Fitness.FIT, sentence=sentence)


def _home_finding(mover: Mover) -> Finding:
    travel_mm = mover.length_mm(
        mover.traits.travel_high_steps - mover.traits.travel_low_steps
    )
    sentence = f"the home switch closes and opens; travel {travel_mm:.1f} mm"
    return Finding(subject="home", fitness=Fitness.FIT, sentence=sentence)


def _zero_findings(bench: Bench) -> list[Finding]:
    found = touch_off_figures(
        bench.axis,
        bench.datum,
        bench.backlash,
        simulated=bench.mover.traits.simulated,
    )
    # The very words of a touch-off, so that both say the same
    (_, from_home), (_, lost) = touch_off_rows(found)
    datum_sentence = f"the face from home: {from_home}"
    worn = bench.backlash.value_mm > _LARGE_BACKLASH_MM
    backlash_sentence = lost
    if worn:
        backlash_sentence += "; that is large: is the nut worn or loose?"
    return [
        Finding(subject="datum", fitness=Fitness.FIT, sentence=datum_sentence),
        Finding(
            subject="backlash",
            fitness=Fitness.UNFIT if worn else Fitness.FIT,
            sentence=backlash_sentence,
        ),
    ]


def _repeat_finding(shift_steps: int, lost_steps: bool, bench: Bench) -> Finding:
    shift_um = 1000 * shift_steps / bench.axis.steps_per_mm
    sentence = f"the home switch closes {shift_um:+.1f} um from where it did (n = 1)"
    if lost_steps:
        sentence += ": steps were lost"
    return Finding(
        subject="steps",
        fitness=Fitness.UNFIT if lost_steps else Fitness.FIT,
        sentence=sentence,
    )


def _scale_finding(mover: Mover) -> Finding:
    sentence = (
        f"{mover.traits.steps_per_mm:g} steps/mm as the controller states it; nothing "
        f"here proves it: compare a move with an indicator or a gauge block"
    )
    return Finding(subject="scale", fitness=Fitness.UNPROVEN, sentence=sentence)


def _output_finding(mover: Mover, sensor: Sensor | None, *, at_home: bool) -> Finding:
    looks = [mover.link.look() for _ in range(_LOOKS)]
    levels = {bool(Input.OUT & look.inputs) for look in looks}
    supply = all(Input.SUPPLY & look.inputs for look in looks)
    if not supply:
        sentence = "the sensor's supply is missing: check its 24 V supply and fuse"
        return Finding(subject="output", fitness=Fitness.UNFIT, sentence=sentence)
    if len(levels) > 1:
        sentence = "the output changes while nothing moves: check wiring and shielding"
        return Finding(subject="output", fitness=Fitness.UNFIT, sentence=sentence)
    (level,) = levels
    watched = Ability.SUPPLY_SENSE in mover.traits.abilities
    known = "supply present" if watched else "supply not watched on this rig"
    where = "idle at the far end" if at_home else "wherever the axis stands"
    sentence = f"{where}: level {int(level)}, steady over {_LOOKS} looks; {known}"
    if not at_home:
        return Finding(subject="output", fitness=Fitness.UNPROVEN, sentence=sentence)
    if sensor is None:
        return Finding(subject="output", fitness=Fitness.FIT, sentence=sentence)
    wrong = level is (sensor.output is OutputKind.NORMALLY_OPEN)
    if wrong:
        sentence += (
            f"; {sensor.name} is {sensor.output}, so it is operated there, or its "
            f"output is wired or declared the wrong way round"
        )
    fitness = Fitness.UNFIT if wrong else Fitness.FIT
    return Finding(subject="output", fitness=fitness, sentence=sentence)


def _tally_finding(mover: Mover) -> Finding:
    tally = mover.link.request(TallyRequest, TallyAnswer)
    here, again = mover.link.damaged_lines, mover.link.recalls
    sentence = (
        f"{here} damaged lines here, {tally.dropped} at the controller, {again} "
        f"notices asked for again, {tally.lost} lost"
    )
    clean = here == tally.dropped == again == tally.lost == 0
    return Finding(
        subject="cable",
        fitness=Fitness.FIT if clean else Fitness.UNPROVEN,
        sentence=sentence,
    )
