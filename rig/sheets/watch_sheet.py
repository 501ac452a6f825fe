"""Watched inputs in rows and words."""

from __future__ import annotations

from collections.abc import Iterator

from firmware_protocol.messages import Input
from rig.model.watched_inputs import INPUT_NAMES, WatchedInput, WatchedInputs

WATCH_HEAD = ("input", "now", "broken wire", "changes", "last change")
NOTHING_MOVES = "Nothing moves. Ctrl-C ends."

_LEVELS = {
    Input.OUT: ("off", "on"),
    Input.PROBE: ("open (free)", "closed (touches)"),
    Input.HOME: ("open (clear of it)", "closed (at its place)"),
    Input.SUPPLY: ("missing", "present"),
    Input.DRIVE: ("off", "on"),
}
_LEVEL_WORDS = {INPUT_NAMES[each]: words for each, words in _LEVELS.items()}


def level_words(seen: WatchedInput) -> str:
    """Return the level of an input in a word."""
    if seen.active is None:
        return "not watched"
    return _LEVEL_WORDS[seen.name][seen.active]


def watch_rows(seen: WatchedInputs) -> list[list[str]]:
    """Return a row an input, in the columns of `WATCH_HEAD`."""
    return [
        [
            each.name,
            level_words(each),
            _WIRE_WORDS[each.fail_safe],
            str(each.changes),
            _age_words(each, seen.watched_s),
        ]
        for each in seen.inputs
    ]


def watch_sentences(seen: WatchedInputs) -> list[str]:
    """Return what is to be said of the rig beside its inputs."""
    sentences = [
        f"Rig {seen.rig_id}, state {seen.state}, position {seen.position_steps} steps"
        + (f", last fault: {seen.fault}." if seen.fault else ", no fault.")
    ]
    if not seen.probe_proven:
        sentences.append("The touch probe has not changed since the start: tap it.")
    if seen.lost_notices:
        sentences.append(f"Word of {seen.lost_notices} changes was lost on the way.")
    return sentences


def change_lines(before: WatchedInputs, now: WatchedInputs) -> Iterator[str]:
    """Yield a line for each input that has changed, and for state and fault."""
    for old, new in zip(before.inputs, now.inputs, strict=True):
        times = new.changes - old.changes
        if times:
            again = f", {times} changes" if times > 1 else ""
            yield f"{now.watched_s:7.1f} s  {new.name}: {level_words(new)}{again}"
    if (before.state, before.fault) != (now.state, now.fault):
        yield f"{now.watched_s:7.1f} s  {watch_sentences(now)[0]}"


_WIRE_WORDS = {True: "stops the axis", False: "goes unnoticed", None: "-"}


def _age_words(seen: WatchedInput, watched_s: float) -> str:
    if seen.changed_s is None:
        return "-"
    return f"{watched_s - seen.changed_s:.1f} s ago"
