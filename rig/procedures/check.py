"""The bench check: link, home, scale, backlash, wiring; says what is fit to measure."""

from __future__ import annotations

from dataclasses import dataclass

from firmware_protocol.messages import Ability, Input, TallyAnswer, TallyRequest
from rig.analysis.numbers.uncertainty import coverage_factor
from rig.analysis.run.home_shift import CLOSINGS, home_finding, home_limit_mm
from rig.errors import BenchError, MotionFault
from rig.inquiry.touch_off_figures import touch_off_figures
from rig.model.bench_declaration import NOTHING_DECLARED, BenchDeclaration
from rig.model.mounted import OutputKind, Sensor
from rig.model.settings import BenchSettings
from rig.model.watched_inputs import INPUT_NAMES
from rig.procedures.bench_finding import Finding, Fitness
from rig.procedures.events import StepBegan, Tell
from rig.procedures.homing_check import HomeCheck, check_home
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.touch_off import touch_off
from rig.sheets.touch_off_sheet import touch_off_rows

_LARGE_BACKLASH_MM = 0.2  # above that the screw or its nut is worn (common practice)
_LOOKS = 20
_SURE = 0.99  # of a delay of the probe, before it counts
_LATE_MS = 2.0  # a contact may be that late: half a um at the touch speed

# Faults that no check here and no closing of a run finds, and what would
NOT_FOUND = (
    (
        "screw",
        "its error within a turn and along the stroke is not looked at; a calibration"
        " with gauge blocks or an indicator finds it",
    ),
    (
        "lost steps that cancel",
        "steps lost one way and lost again the other within a run leave home switch"
        " and datum where they were; they show in the scatter of the sweeps alone",
    ),
    (
        "warm-up",
        "a sensor that still drifts is measured as it is; a drift within a run is"
        " found, one before it is not: let it warm up",
    ),
    (
        "probe offset",
        "a probe that closes before or behind the face by a fixed amount shifts every"
        " gap alike; a gauge block between face and target finds it",
    ),
)


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
    mover: Mover,
    settings: BenchSettings,
    tell: Tell,
    *,
    sensor: Sensor | None,
    declared: BenchDeclaration = NOTHING_DECLARED,
) -> BenchCheck:
    """Look at everything that a measurement rests on.

    Args:
        mover: The axis.
        settings: How it is driven.
        tell: Told of progress.
        sensor: What is mounted, if the level of its idle output is to be judged.
        declared: What is declared of the bench; the rest is assumed.

    Raises:
        Stopped: Somebody stopped it.
        LinkError: The link failed.
    """
    findings = [_link_finding(mover), *_wiring_findings(mover)]
    bench: Bench | None = None
    at_home = False
    try:
        bench = touch_off(mover, settings, tell, declared=declared)
        findings += [_home_finding(mover), *_zero_findings(bench)]
        findings += _delay_findings(bench)
        tell(StepBegan(what="homing again"))
        home = check_home(bench, repeat=True)
        bench, at_home = home.bench, True
        findings.append(_repeat_finding(home))
    except (BenchError, MotionFault) as exc:
        sentence = f"{exc}; {exc.hint}" if exc.hint else str(exc)
        findings.append(
            Finding(subject="axis", fitness=Fitness.UNFIT, sentence=sentence)
        )
    findings += [_scale_finding(mover), *_not_found_findings()]
    tell(StepBegan(what="looking at the output"))
    findings.append(
        _output_finding(mover, sensor if at_home else None, at_home=at_home)
    )
    findings.append(_tally_finding(mover))
    return BenchCheck(findings=tuple(findings), bench=bench)


def _link_finding(mover: Mover) -> Finding:
    traits = mover.traits
    build = f" (build {traits.build})" if traits.build else ""
    sentence = (
        f"{mover.link.name} answers: rig {traits.rig_id}, firmware "
        f"{traits.firmware_version}{build}, protocol {traits.protocol_version}"
    )
    return Finding(subject="link", fitness=Fitness.FIT, sentence=sentence)


def _wiring_findings(mover: Mover) -> list[Finding]:
    """Name the inputs whose broken wire would go unnoticed, and a drive not watched."""
    traits = mover.traits
    fitted = {
        Input.PROBE: Ability.TOUCH_PROBE,
        Input.HOME: None,
        Input.DRIVE: Ability.DRIVE_SENSE,
    }
    sentences = [
        f"a broken wire of the {INPUT_NAMES[each]} stops nothing: fit a normally"
        " closed contact and say so in the controller's settings"
        for each, ability in fitted.items()
        if each not in traits.fail_safe
        and (ability is None or ability in traits.abilities)
    ]
    if Ability.DRIVE_SENSE not in traits.abilities:
        sentences.append(
            "the controller does not see an emergency stop or a fault of the driver,"
            " after which the axis may stand anywhere: wire their contacts to it"
        )
    return [
        Finding(subject="wiring", fitness=Fitness.UNPROVEN, sentence=sentence)
        for sentence in sentences
    ]


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
    worn = bench.backlash.of_screw_mm > _LARGE_BACKLASH_MM
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


def _delay_findings(bench: Bench) -> list[Finding]:
    """Say how late the probe's contact comes, if touches at two speeds showed it."""
    datum, settings = bench.datum, bench.settings
    if datum.late_uncertainty_mm is None:
        return []
    search, touch = (
        bench.mover.touch_speed_mm_s(speed)
        for speed in (settings.search_speed_mm_s, settings.touch_speed_mm_s)
    )
    factor = float(coverage_factor(datum.degrees_of_freedom, _SURE))
    late_ms = 1000 * datum.late_mm / touch
    bound_ms = 1000 * factor * datum.late_uncertainty_mm / touch
    late = late_ms > max(bound_ms, _LATE_MS)
    sentence = (
        f"the contact comes {late_ms:+.1f} ms late by touches at {search:g} and"
        f" {touch:g} mm/s, within {bound_ms:.1f} ms (99 %); datum and backlash are"
        " corrected by it"
    )
    if late:
        sentence += "; that is much: shorten its debouncing"
    return [
        Finding(
            subject="probe delay",
            fitness=Fitness.UNPROVEN if late else Fitness.FIT,
            sentence=sentence,
        )
    ]


def _not_found_findings() -> list[Finding]:
    """Name the faults that nothing here can show."""
    return [
        Finding(subject=subject, fitness=Fitness.UNPROVEN, sentence=sentence)
        for subject, sentence in NOT_FOUND
    ]


def _repeat_finding(home: HomeCheck) -> Finding:
    scale = home.bench.axis.steps_per_mm
    shift_um = 1000 * home.shift_steps / scale
    sentence = f"the home switch closes {shift_um:+.1f} µm from where it did"
    repeatability_mm = home.repeatability_mm
    if repeatability_mm is not None:
        sentence += (
            f"; it repeats to {1000 * repeatability_mm:.1f} µm (standard deviation of"
            f" {CLOSINGS} closings), which explains up to"
            f" {1000 * home_limit_mm(repeatability_mm):.1f} µm"
        )
    finding = home_finding(home.shift_steps, repeatability_mm, scale)
    if home.lost_steps:
        sentence += ": steps were lost"
    elif finding:
        sentence += ": the switch or the axis moved"
    return Finding(
        subject="steps",
        fitness=Fitness.UNFIT if finding else Fitness.FIT,
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
