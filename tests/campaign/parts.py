"""The parts of the campaign: each gives a report of tables and what they must show."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import count, islice

from rig.errors import RigError
from rig.records import Writer, open_records
from tests.benchmarks.registry import Cell, Claim, Report, Table
from tests.campaign.faulty_wire import Fault
from tests.campaign.files import damaged_files
from tests.campaign.judge import Outcome
from tests.campaign.kills import killed_plans
from tests.campaign.lies import LIES, lie_to
from tests.campaign.lines import corrupted, forged, recorded
from tests.campaign.session import carried_out, quick_folder
from tests.campaign.settings import (
    DRIFT,
    HARDWARE,
    TWELVE_RUNS,
    WRAP,
    Setting,
    drawn,
    drawn_cuts,
)
from tests.procedures.conftest import simulated

SILENCE_LIMIT_S = 0.5  # of the simulated rig
_TOLD_LATE_S = 0.01  # the last line before a cut may still be on its way
_SWEEPS_A_SESSION = 60
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
    far = sum(one.beyond[1] + one.far_sweeps for one in done)
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
            _claim("sweeps on record", f"at least {sweeps}", kept, kept >= sweeps),
            _none("figures or sweeps beyond 2 U without a flag", far),
            _none("sweeps lost or doubled", _sum(done, "lost")),
            _none("edges that the controller never latched, or missing", wrong),
            _none("orders carried out that nobody gave", _sum(done, "unasked")),
            _none("attempts without an outcome", _sum(done, "nameless")),
            _none("errors that are none of ours", sum(len(o.untyped) for o in done)),
            _claim("classes seen", f"{len(classes)}", len(seen), seen == classes),
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
        sum(one.beyond[1] + one.far_sweeps for one in done),
    )


def _sum(done: list[Outcome], name: str) -> int:
    return sum(getattr(one, name) for one in done)


def _endings(done: list[Outcome]) -> Table:
    """Return how attempts ended, as it stands on record."""
    names = [name for one in done for name in one.ended]
    rows = [(name, names.count(name)) for name in sorted(set(names))]
    return Table(title="Outcomes of attempts", columns=("outcome", "times"), rows=rows)


def _claim(what: str, wanted: str, found: object, met: bool) -> Claim:
    return Claim(claim=f"{what}: {wanted}", measured=str(found), met=met)


def _none(what: str, found: int) -> Claim:
    return _claim(what, "none", found, found == 0)


def _complete(done: list[Outcome], wanted: int) -> Claim:
    complete = _sum(done, "complete")
    return _claim("plans complete", str(wanted), complete, complete == wanted)


def _stopped(longest_s: float, cuts: int) -> Claim:
    return _claim(
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
            _none("sweeps lost or doubled", _sum(done, "lost")),
            _none("plans that a person had to begin again", _sum(done, "by_hand")),
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
            claims.append(_none(f"damage gives {name}: begun again by hand", by_hand))
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


def lies() -> Report:
    """The table of lies of a controller, each told in the last three of four sweeps."""
    rows: list[tuple[Cell, ...]] = []
    for name, lie in LIES.items():
        with quick_folder() as folder, open_records(folder / "lies.sqlite") as store:
            liar, voids, error = lie_to(simulated(), lie, Writer(store))
        rows.append((name, liar.told, sum(map(bool, voids)), len(voids), _short(error)))
    taken = sum(int(str(row[3])) - int(str(row[2])) for row in rows)
    return Report(
        tables=(
            Table(
                title="Lies of a controller, check and all",
                columns=("lie", "told", "void", "of", "the run ends"),
                rows=rows,
            ),
        ),
        claims=(
            _none("sweeps with a lie that count", taken),
            _none("runs that end as if all were well", sum(not row[4] for row in rows)),
        ),
    )


def _short(error: RigError | None) -> str:
    return "" if error is None else str(error)[:70]


def lines(number: int, seed: int) -> Report:
    """Corrupted lines through the codec; forged ones against sequence and motion."""
    with quick_folder() as folder:
        found = recorded(folder)
    accepted = corrupted(found.lines, number, seed)
    caught = forged(found.motions, max(2_000, number // 50), seed)
    telling = caught.forged - caught.by["harmless"]
    left = sum(times for name, times in caught.by.items() if "nothing" in name)
    farthest_um = max(caught.left_um, default=0.0)
    return Report(
        tables=(
            Table(
                title=f"Damaged lines, of {len(found.lines)} that went over a wire",
                columns=("damage", "lines", "accepted", "allowed by the check"),
                rows=[(a.kind, a.damaged, a.accepted, a.allowed) for a in accepted],
            ),
            Table(
                title="Notices with one digit forged, check and all",
                columns=("found by", "notices", "share %"),
                rows=[
                    (name, times, 100.0 * times / caught.forged)
                    for name, times in caught.by.most_common()
                ],
            ),
        ),
        claims=(
            _claim(
                "lines accepted beyond what a check of 16 bits allows",
                "none",
                sum(max(0, a.accepted - a.allowed) for a in accepted),
                all(a.accepted <= a.allowed for a in accepted),
            ),
            _claim(
                "of forged notices that say something else, sequence and motion find",
                "printed",
                f"{100.0 * (telling - left) / telling:.2f} %",
                True,
            ),
            _claim(
                "forged places farther off than 5 um that nothing finds",
                "none",
                f"{caught.left_beyond(5.0)}, the farthest {farthest_um:.2f} um off",
                not caught.left_beyond(5.0),
            ),
        ),
    )


def kills(number: int, seed: int) -> Report:
    """Processes killed in mid-plan."""
    with quick_folder() as folder:
        found = killed_plans(number, folder, seed)
    return Report(
        tables=(
            Table(
                title="Processes killed (SIGKILL) in plans of 120 sweeps",
                columns=(
                    "kills",
                    "plans",
                    "runs cut and resumed",
                    "sweeps told",
                    "on record",
                    "lost",
                    "doubled",
                    "on record and not told",
                ),
                rows=[
                    (
                        found.kills,
                        found.plans,
                        found.in_runs,
                        found.told,
                        found.stored,
                        found.lost,
                        found.doubled,
                        found.untold,
                    )
                ],
            ),
        ),
        claims=(
            _claim("kills", f"at least {number}", found.kills, found.kills >= number),
            _none("sweeps lost", found.lost),
            _none("sweeps doubled", found.doubled),
            _none("anything else wrong on record", len(found.wrong)),
        ),
        notes=tuple(found.wrong[:20]),
    )


def files(number: int) -> Report:
    """Records files with flipped bits."""
    with quick_folder() as folder:
        found = damaged_files(number, folder)
    fine = ("refused", "flagged", "unchanged", "verified")
    other = number - sum(found[name] for name in fine)
    return Report(
        tables=(
            Table(
                title="Records files with 1 or 4 flipped bits",
                columns=("what a reader is shown", "files"),
                rows=found.most_common(),
            ),
        ),
        claims=(_none("files shown otherwise without a word, or a raw error", other),),
        notes=(
            "verified: what is shown of the runs is as it was, a damaged index hides"
            " one from the list, and `gapsweep verify` says so.",
        ),
    )


Part = Callable[[], Report]


def every_part(
    *, share: float, seed: int, processes: int
) -> Iterator[tuple[str, Part]]:
    """Yield the parts by name, each at a share of its full size."""

    def of(full: int, least: int) -> int:
        return max(least, round(full * share))

    yield "sweeps", lambda: mixed_faults(of(20_000, 200), seed, processes)
    yield "cuts", lambda: cuts(of(100, 2), seed, processes)
    yield "plan", lambda: noisy_plan(of(20, 1), seed, processes)
    yield "lies", lies
    yield "lines", lambda: lines(of(1_000_000, 5_000), seed)
    yield "kills", lambda: kills(of(1_000, 2), seed)
    yield "files", lambda: files(of(5_000, 50))
