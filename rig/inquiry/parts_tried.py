"""Which outcome of each part counts: its figures, or what it died of.

What the sensor itself gave counts by time alone: a part that died does not conform by
its past. What the rig or a person ended (steps lost, a stop) says nothing of the part,
so its figures stay, and the attempt is told of.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from rig.analysis.limits.verdict import Decision
from rig.errors import InputError
from rig.inquiry.tried import Tried
from rig.model.attempts import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWithout:
    """A part that was tried and whose outcome is no figures.

    Attributes:
        part: Serial or sample number.
        batch: Name of the batch that the part belongs to.
        result: What came of it, in a word or two.
        sentence: What was seen.
        causes: Likely causes or what to do; may be empty.
        decision: What that decides about the part; None for no verdict.
        run_id: Identity of the run; empty if it never came to one.
        earlier_run_id: Run with figures that no longer counts; empty if there is none.
        simulated: Whether a simulated rig made it.
    """

    part: str
    batch: str
    result: str
    sentence: str
    causes: str
    decision: Decision | None
    run_id: str
    earlier_run_id: str
    simulated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CountingOutcomes:
    """The outcome of each part that counts.

    Attributes:
        run_ids: Runs whose figures count, in order of time.
        without: Parts whose outcome is no figures, in order of time.
        statements: What was left out and why.
    """

    run_ids: tuple[str, ...]
    without: tuple[PartWithout, ...]
    statements: tuple[str, ...]


def counting_outcomes(tried: Sequence[Tried], batch: str) -> CountingOutcomes:
    """Choose the outcome of each part that counts.

    Args:
        tried: All that was tried, in order of time.
        batch: Name of the batch.

    Raises:
        InputError: A run with figures does not say which part it is of, or parts
            without figures are of several sensors or targets.
    """
    nameless = [t for t in tried if not t.part and t.outcome is Outcome.FIGURES]
    if nameless:
        raise InputError(
            f"run {nameless[0].run_id} does not say which part it is of",
            hint="a batch is made of parts: measure with --part, or leave the run out",
        )
    said = _about_nameless([t for t in tried if not t.part], batch)
    own = [t for t in tried if t.part]
    fitting, others = _of_one_kind(own, batch)
    said += others
    of_part: defaultdict[str, list[Tried]] = defaultdict(list)
    for one in fitting:
        of_part[one.part].append(one)
    run_ids: set[str] = set()
    without: list[tuple[Tried, str]] = []
    unused = 0
    for part, every in of_part.items():
        by_time = sorted(every, key=lambda one: one.last_tried)
        figures = [one for one in by_time if one.outcome is Outcome.FIGURES]
        counts = counting_outcome(by_time)
        if counts.outcome is Outcome.FIGURES:
            run_ids.add(counts.run_id)
            unused += len(figures) - 1
            said += _about_attempts(part, counts, by_time)
        else:
            without.append((counts, figures[-1].run_id if figures else ""))
    if unused:
        said.append(
            f"{batch}: {unused} earlier runs of parts that were measured again are"
            " not used; the newest of each part counts."
        )
    without.sort(key=lambda pair: pair[0].last_tried)
    return CountingOutcomes(
        run_ids=tuple(t.run_id for t in fitting if t.run_id in run_ids),
        without=tuple(_without(one, before, batch) for one, before in without),
        statements=tuple(said),
    )


def counting_outcome(by_time: Sequence[Tried]) -> Tried:
    """Choose what counts of all that was tried of one part; the newest comes last."""
    telling = [
        one
        for one in by_time
        if one.outcome is Outcome.FIGURES or one.outcome.of_the_sensor
    ]
    return (telling or by_time)[-1]


def words_of_parts(parts: Sequence[PartWithout]) -> str:
    """Return parts that have no figures, each with what came of it."""
    return ", ".join(f"{one.part} {one.result}" for one in parts)


def _about_attempts(part: str, counts: Tried, by_time: Sequence[Tried]) -> list[str]:
    """Tell of attempts that gave no figures beside the run that counts."""
    at = by_time.index(counts)
    before, after = (
        [one.words for one in some if one.outcome is not Outcome.FIGURES]
        for some in (by_time[:at], by_time[at + 1 :])
    )
    said = []
    if before:
        words = ", ".join(before)
        said.append(f"Part {part} gave no figures before the run that counts: {words}.")
    if after:
        words = ", ".join(after)
        said.append(
            f"Part {part} was tried again and gave no figures ({words}); that says"
            " nothing of the part, so its run counts."
        )
    return said


def _about_nameless(attempts: Sequence[Tried], batch: str) -> list[str]:
    if not attempts:
        return []
    words = ", ".join(dict.fromkeys(one.words for one in attempts))
    return [
        f"{batch}: {len(attempts)} attempts that name no part gave no figures ({words})"
        " and belong to no part here."
    ]


def _of_one_kind(tried: Sequence[Tried], batch: str) -> tuple[list[Tried], list[str]]:
    """Leave out attempts without figures on another sensor or target than the runs."""
    kinds = {_kind(one) for one in tried if one.outcome is Outcome.FIGURES}
    if not kinds:
        if len({_kind(one) for one in tried}) > 1:
            names = ", ".join(sorted({_kind(one) for one in tried}))
            raise InputError(
                f"no part has figures, and the attempts are on several: {names}",
                hint="choose one with --sensor and --target",
            )
        return list(tried), []
    found = [one for one in tried if _kind(one) in kinds]
    others = Counter(
        f"{_kind(one)}: {one.words}" for one in tried if _kind(one) not in kinds
    )
    return found, [
        f"{batch}: left out, as no run here is of it: {words} (attempts: {count})."
        for words, count in others.items()
    ]


def _kind(one: Tried) -> str:
    return f"{one.sensor.name} against {one.target.name}"


def _without(one: Tried, earlier_run_id: str, batch: str) -> PartWithout:
    return PartWithout(
        part=one.part,
        batch=batch,
        result=one.words,
        sentence=one.sentence,
        causes=one.causes,
        decision=one.decision,
        run_id=one.run_id if one.run is not None else "",
        earlier_run_id=earlier_run_id,
        simulated=one.simulated,
    )
