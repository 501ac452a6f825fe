"""The parts of the campaign: each gives a report of tables and what they must show."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rig.errors import RigError
from rig.records import Writer, open_records
from tests.benchmarks.registry import Cell, Report, Table
from tests.campaign.claims import claim, none_of
from tests.campaign.files import damaged_files
from tests.campaign.kills import killed_plans
from tests.campaign.lies import LIES, lie_to
from tests.campaign.lines import corrupted, forged, recorded
from tests.campaign.session import quick_folder
from tests.campaign.sweep_reports import cuts, mixed_faults, noisy_plan
from tests.procedures.conftest import simulated


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
            none_of("sweeps with a lie that count", taken),
            none_of(
                "runs that end as if all were well", sum(not row[4] for row in rows)
            ),
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
            claim(
                "lines accepted beyond what a check of 16 bits allows",
                "none",
                sum(max(0, a.accepted - a.allowed) for a in accepted),
                all(a.accepted <= a.allowed for a in accepted),
            ),
            claim(
                "of forged notices that say something else, sequence and motion find",
                "printed",
                f"{100.0 * (telling - left) / telling:.2f} %",
                True,
            ),
            claim(
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
            claim("kills", f"at least {number}", found.kills, found.kills >= number),
            none_of("sweeps lost", found.lost),
            none_of("sweeps doubled", found.doubled),
            none_of("anything else wrong on record", len(found.wrong)),
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
        claims=(
            none_of("files shown otherwise without a word, or a raw error", other),
        ),
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
