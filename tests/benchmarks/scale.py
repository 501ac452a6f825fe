"""Lists, batches, reports and exports as the records grow: 1, 10 and 100 times."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks._stored_runs import EDGES_PER_RUN, PLAN_ID, fill
from tests.benchmarks._whole_process import COMMAND, Taken, taken
from tests.benchmarks.registry import Claim, Report, Table, benchmark

# A further run may cost so much more than one of the first decade
LINEAR_WITHIN = 1.3
_MEMORY_MB = 30.0  # of growth over the last decade where memory is to stay

_SENSOR = "level 18"
# What the list of past runs in the terminal UI does: a page, by words or in an order
_SCREEN = """
import sys
from rig.records import open_records
from rig.records.run_index import RunsBy, RunsWanted
from rig.tui.frame.list_screen import PAGE
from rig.tui.technician.run_lines import read_lines
wanted = RunsWanted(
    words=tuple(sys.argv[3].split()),
    by=RunsBy(sys.argv[2]),
    falling=False,
    limit=PAGE,
)
with open_records(sys.argv[1], read_only=True) as store:
    found = read_lines(store, wanted)
if not 0 < len(found.lines) == min(PAGE, found.matching):
    raise SystemExit(2)
"""

# What the list of parts does, likewise; here each run is of a part of its own
_PARTS = """
import sys
from rig.records import open_records
from rig.records.part_index import PartsBy, PartsWanted
from rig.tui.frame.list_screen import PAGE
from rig.tui.technician.part_lines import read_parts
wanted = PartsWanted(
    words=tuple(sys.argv[3].split()),
    by=PartsBy(sys.argv[2]),
    falling=False,
    limit=PAGE,
)
with open_records(sys.argv[1], read_only=True) as store:
    found = read_parts(store, wanted)
if not 0 < len(found.lines) == min(PAGE, found.matching):
    raise SystemExit(2)
"""

Ways = dict[str, Callable[[Path], Taken]]


def _command(*words: str) -> Callable[[Path], Taken]:
    def run(records: Path) -> Taken:
        return taken(COMMAND, *words, "--records", str(records), folder=records.parent)

    return run


def _screen(by: str, words: str = "") -> Callable[[Path], Taken]:
    return lambda records: taken(_SCREEN, str(records), by, words)


def _parts(by: str, words: str = "") -> Callable[[Path], Taken]:
    return lambda records: taken(_PARTS, str(records), by, words)


def _over_sizes(
    ways: Ways, sizes: tuple[int, ...], *, plan: bool = False, figures: bool = True
) -> dict[str, list[Taken]]:
    found: dict[str, list[Taken]] = {way: [] for way in ways}
    for size in sizes:
        with tempfile.TemporaryDirectory() as name:
            records = Path(name) / "records.sqlite"
            fill(records, size, plan=plan)
            if figures:
                taken(COMMAND, "recompute", "--records", str(records))
            for way, run in ways.items():
                found[way].append(run(records))
    return found


def _table(
    title: str, what: str, sizes: tuple[int, ...], found: dict[str, list[Taken]]
) -> Table:
    rows = []
    for way, times in found.items():
        for at, (size, one) in enumerate(zip(sizes, times, strict=True)):
            further = None
            if at:
                spent_s = one.processor_s - times[at - 1].processor_s
                further = 1e3 * spent_s / (size - sizes[at - 1])
            cells = (one.processor_s, one.wall_s, further, one.memory_mb)
            rows.append((way, size, *cells))
    return Table(
        title=title,
        columns=("way", what, "processor s", "wall s", "ms a further one", "peak MB"),
        rows=tuple(rows),
    )


def _linear(way: str, sizes: tuple[int, ...], times: list[Taken]) -> Claim:
    """Claim that a further one costs no more in the last decade than in the first."""
    (low, mid, high), (first, second, third) = sizes, times
    early = (second.processor_s - first.processor_s) / (mid - low)
    late = (third.processor_s - second.processor_s) / (high - mid)
    return Claim(
        claim=f"{way}: time at most linear over two decades",
        measured=f"a further one takes {late / early:.2f} times as long in the last",
        met=late <= LINEAR_WITHIN * early,
    )


def _bounded(way: str, times: list[Taken]) -> Claim:
    growth = times[-1].memory_mb - times[-2].memory_mb
    return Claim(
        claim=f"{way}: memory does not grow with the records",
        measured=f"{growth:+.1f} MB over the last decade",
        met=growth <= _MEMORY_MB,
    )


def _within(way: str, limit_s: float, times: list[Taken]) -> Claim:
    return Claim(
        claim=f"{way}: at most {limit_s:g} s of processor time at the largest",
        measured=f"{times[-1].processor_s:.2f} s",
        met=times[-1].processor_s <= limit_s,
    )


@benchmark("lists", "lists, filter and sort with up to 100,000 runs on record")
def lists() -> Report:
    """Run each list over records of three sizes."""
    sizes = (1_000, 10_000, 100_000)
    ways: Ways = {
        "results --newest 20": _command("results", "--newest", "20"),
        "results --sensor, none of it": _command("results", "--sensor", "another"),
        "runs screen: open": _screen("started"),
        "runs screen: filter to the oldest": _screen("started", "level P00001"),
        "runs screen: sort by part": _screen("part"),
        "runs screen: sort by good sweeps": _screen("good sweeps"),
        "runs screen: sort by operate": _screen("operate"),
        "runs screen: sort by margin": _screen("margin to the limit"),
        "parts screen: open": _parts("last on record"),
        "parts screen: filter to the oldest": _parts("part", "level P00001"),
        "parts screen: sort by times tried": _parts("times tried"),
        "parts screen: sort by margin": _parts("margin to the limit"),
        "results, all": _command("results"),
    }
    found = _over_sizes(ways, sizes)
    newest, none, *screens, every = ways
    most_s = {way: 8.0 if way.startswith("parts") else 4.0 for way in screens}
    return Report(
        tables=(_table("Lists of runs, each a process", "runs", sizes, found),),
        claims=(
            _within(newest, 2.0, found[newest]),
            _within(none, 2.0, found[none]),
            *(_within(way, limit_s, found[way]) for way, limit_s in most_s.items()),
            _linear(every, sizes, found[every]),
        ),
        notes=("The start of the process is in every figure.",),
    )


@benchmark("batch", "a batch of up to 1,000 parts")
def batch() -> Report:
    """Work batches of three sizes out."""
    sizes = (10, 100, 1_000)
    way = "batch --sensor"
    found = _over_sizes({way: _command("batch", "--sensor", _SENSOR)}, sizes)
    return Report(
        tables=(_table("One batch, as a process", "parts", sizes, found),),
        claims=(
            _linear(way, sizes, found[way]),
            _within(way, 5.0, found[way]),
        ),
    )


@benchmark("plan-report", "the report of a plan of up to 500 runs")
def plan_report() -> Report:
    """Report plans of three sizes."""
    sizes = (5, 50, 500)
    way = "report --plan"
    words = ("report", "--plan", PLAN_ID, "--out", "plan.html")
    found = _over_sizes({way: _command(*words)}, sizes, plan=True)
    return Report(
        tables=(_table("One report, as a process", "runs", sizes, found),),
        claims=(
            _linear(way, sizes, found[way]),
            _within(way, 15.0, found[way]),
        ),
    )


# One table is written, as `export` writes it among the others
_EXPORT = """
import sys
from pathlib import Path
from rig.inquiry.judged_rows import WORKED_OUT
from rig.records import Reader, open_records
from rig.records.export import ExportFormat, ExportTable, export_table
with open_records(sys.argv[1], read_only=True) as store:
    export_table(
        Reader(store),
        ExportTable.EDGES,
        Path(sys.argv[1]).with_suffix(f".{sys.argv[2]}"),
        file_format=ExportFormat(sys.argv[2]),
        worked_out=WORKED_OUT,
    )
"""


@benchmark("export", "an export of up to 10,000,000 edges")
def export() -> Report:
    """Export the edges of records of three sizes."""
    sizes = (100_000, 1_000_000, 10_000_000)
    ways: Ways = {
        f"edges to {kind}": lambda at, kind=kind: taken(_EXPORT, str(at), kind)
        for kind in ("csv", "parquet")
    }
    runs = tuple(size // EDGES_PER_RUN for size in sizes)
    found = _over_sizes(ways, runs, figures=False)
    return Report(
        tables=(_table("Edges exported, as a process", "edges", sizes, found),),
        claims=tuple(
            claim
            for way, times in found.items()
            for claim in (_linear(way, sizes, times), _bounded(way, times))
        ),
        notes=(f"Runs of {EDGES_PER_RUN} edges, read in the order of the runs.",),
    )
