"""Sessions of sweeps as reports: under mixed faults, cuts alone, and a noisy plan."""

from __future__ import annotations

import random
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from itertools import count, islice

from scipy.stats import norm, poisson

from tests.benchmarks.registry import Cell, Claim, Report, Table
from tests.campaign.claims import claim, none_of
from tests.campaign.faulty_wire import Fault
from tests.campaign.judge import Outcome
from tests.campaign.session import carried_out
from tests.campaign.settings import (
    DRIFT,
    HARDWARE,
    TWELVE_RUNS,
    WRAP,
    Setting,
    drawn,
    drawn_cuts,
)

SILENCE_LIMIT_S = 0.5  # of the simulated rig
_TOLD_LATE_S = 0.01  # the last line before a cut may still be on its way
_SWEEPS_A_SESSION = 60
_FAR = 4.0  # 2 U of one sweep in standard deviations, at least
_COLUMNS = (
    "class",
    "times",
    "sessions",
    "complete",
    "by itself",
    "by hand",
    "good",
    "void",
    "lost",
    "wrong edges",
    "figures",
    "beyond U",
    "beyond 2 U",
    "flagged",
)


def sessions_of(
    settings: Iterable[Setting], sweeps: int, processes: int
) -> list[Outcome]:
    """Carry out sessions until there are so many sweeps on record."""
    done: list[Outcome] = []
    each = iter(settings)
    with ProcessPoolExecutor(processes) as pool:
        while sum(one.good + one.void for one in done) < sweeps:
            batch = list(islice(each, 8 * processes))
            if not batch:
                break
            done += pool.map(carried_out, batch)
    return done


def mixed_faults(sweeps: int, seed: int, processes: int) -> Report:
    """Sweeps under mixed faults of line and hardware."""
    settings = (drawn(seed + i, _SWEEPS_A_SESSION) for i in count())
    done = sessions_of(settings, sweeps, processes)
    classes = [fault.value for fault in Fault] + [*HARDWARE, WRAP, DRIFT]
    rows = [_row(name, [o for o in done if o.classes[name]]) for name in classes]
    rows.append(_row("all", done))
    beyond = sum(one.beyond[1] for one in done)
    far, points = _sum(done, "far"), _sum(done, "points")
    by_chance = int(poisson.ppf(1.0 - 1e-4, points * 2.0 * norm.sf(_FAR)))
    wrong = _sum(done, "untrue") + _sum(done, "missing")
    seen = [name for name in classes if any(one.classes[name] for one in done)]
    kept = _sum(done, "good") + _sum(done, "void")
    stopped_s = max(one.stopped_s for one in done)
    return Report(
        tables=(
            Table(
                title="Sweeps under mixed faults; a session has several classes",
                columns=_COLUMNS,
                rows=rows,
            ),
            _endings(done),
        ),
        claims=(
            claim("sweeps on record", f"at least {sweeps}", kept, kept >= sweeps),
            none_of("figures beyond 2 U without a flag", beyond),
            claim(
                f"of {points} points of single sweeps, beyond 2 U of one sweep",
                f"{by_chance} by chance",
                far,
                far <= by_chance,
            ),
            none_of("sweeps lost or doubled", _sum(done, "lost")),
            none_of("edges that the controller never latched, or missing", wrong),
            none_of("orders carried out that nobody gave", _sum(done, "unasked")),
            none_of("attempts without an outcome", _sum(done, "nameless")),
            none_of("errors that are none of ours", sum(len(o.untyped) for o in done)),
            claim("classes seen", f"{len(classes)}", len(seen), seen == classes),
            _stopped(stopped_s, sum(one.cuts_in_motion for one in done)),
        ),
        notes=tuple(sorted({text for one in done for text in one.untyped})),
    )


def _row(name: str, done: list[Outcome]) -> tuple[Cell, ...]:
    return (
        name,
        sum(one.classes[name] for one in done) if name != "all" else None,
        len(done),
        sum(one.complete for one in done),
        _sum(done, "by_itself"),
        _sum(done, "by_hand"),
        _sum(done, "good"),
        _sum(done, "void"),
        _sum(done, "lost"),
        _sum(done, "untrue") + _sum(done, "missing"),
        _sum(done, "figures"),
        sum(one.beyond[0] for one in done),
        sum(one.beyond[1] for one in done),
        _sum(done, "flagged"),
    )


def _sum(done: list[Outcome], name: str) -> int:
    return sum(getattr(one, name) for one in done)


def _endings(done: list[Outcome]) -> Table:
    """Return how attempts ended, as it stands on record."""
    names = [name for one in done for name in one.ended]
    rows = [(name, names.count(name)) for name in sorted(set(names))]
    return Table(title="Outcomes of attempts", columns=("outcome", "times"), rows=rows)


def _complete(done: list[Outcome], wanted: int) -> Claim:
    complete = _sum(done, "complete")
    return claim("plans complete", str(wanted), complete, complete == wanted)


def _stopped(longest_s: float, cuts: int) -> Claim:
    return claim(
        "after a cut in motion the axis rests",
        f"within {SILENCE_LIMIT_S} s of silence",
        f"{longest_s:.3f} s at most, {cuts} cuts in motion",
        longest_s <= SILENCE_LIMIT_S + _TOLD_LATE_S,
    )


def cuts(sessions: int, seed: int, processes: int) -> Report:
    """Cuts of 1 ms to 60 s and nothing else: when the axis rests, and what goes on."""
    settings = (
        Setting(
            seed=seed + i,
            sweeps=_SWEEPS_A_SESSION,
            cuts=drawn_cuts(random.Random(seed + i), 5),
        )
        for i in range(sessions)
    )
    done = sessions_of(settings, sessions * 1_000_000, processes)
    stopped_s = max(one.stopped_s for one in done)
    in_motion = sum(one.cuts_in_motion for one in done)
    return Report(
        tables=(
            Table(
                title="Cuts of 1 ms to 60 s",
                columns=_COLUMNS,
                rows=[_row(Fault.CUT.value, done)],
            ),
        ),
        claims=(
            _stopped(stopped_s, in_motion),
            none_of("sweeps lost or doubled", _sum(done, "lost")),
            none_of("plans that a person had to begin again", _sum(done, "by_hand")),
            _complete(done, sessions),
        ),
    )


def noisy_plan(plans: int, seed: int, processes: int) -> Report:
    """A plan of 12 runs at one damaged byte in 1,000 each way."""
    rows: list[tuple[Cell, ...]] = []
    claims = []
    for stops in (False, True):
        settings = [
            Setting(
                seed=seed + i,
                sweeps=10,
                plan=TWELVE_RUNS,
                shares={Fault.FLIP: 1e-3},
                stops_from_noise=stops,
            )
            for i in range(plans)
        ]
        with ProcessPoolExecutor(processes) as pool:
            done = list(pool.map(carried_out, settings))
        name = "a stop byte too" if stops else "any byte but the stop byte"
        complete, by_hand = _sum(done, "complete"), _sum(done, "by_hand")
        hit = sum(one.classes[Fault.FLIP.value] for one in done)
        rows.append(
            (
                name,
                plans,
                hit,
                complete,
                _sum(done, "by_itself"),
                by_hand,
                _sum(done, "good"),
                _sum(done, "void"),
                _sum(done, "lost"),
            )
        )
        claims.append(_complete(done, plans))
        if not stops:
            claims.append(none_of(f"damage gives {name}: begun again by hand", by_hand))
    return Report(
        tables=(
            Table(
                title="Plans of 12 runs of 10 sweeps, one damaged byte in 1,000",
                columns=(
                    "damage gives",
                    "plans",
                    "bytes hit",
                    "complete",
                    "by itself",
                    "by hand",
                    "good",
                    "void",
                    "lost",
                ),
                rows=rows,
            ),
        ),
        claims=tuple(claims),
        notes=(
            "A stop byte stops whoever sent it: after one that nobody sent, a person"
            " begins again.",
        ),
    )
