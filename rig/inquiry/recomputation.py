"""Works the figures of runs out again from their raw edges and puts them on record.

Plain runs of a page are worked out together from arrays; the others one at a time. The
figures are the same either way.
"""

from __future__ import annotations

import signal
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import get_context

from rig.analysis.edges.run_arrays import RunArrays, run_arrays, usable_sweeps
from rig.analysis.run.pooled_threshold import SensorNoise, noise_of_runs
from rig.analysis.run.run_figures import run_figures
from rig.errors import BenchError, RecordsError
from rig.inquiry.page_figures import figures_of_page
from rig.model.figure_forms import FigureBlock, block_of_run
from rig.model.figures import RunFigures
from rig.model.mounted import Sensor, Target
from rig.model.sweeps import Run
from rig.records import Reader, RunFilter, Store, Writer, open_records
from rig.records.run_pages import RUNS_AT_ONCE, RunPage, page_bounds, run_page

_READ_AT_ONCE = 500  # identities in one query
# A process takes a second to begin, a page a third of that
_PAGES_WORTH_PROCESSES = 8
_POOLED_RUNS = 64  # more of them sharpen the noise by next to nothing

# One sensor, one part of it, one setting of it, against one target
Like = tuple[Sensor, str, str, Target]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecomputedRun:
    """A run whose figures were worked out again.

    Attributes:
        run_id: The run.
        simulated: Whether it was measured on a simulated rig.
        figures: New figures of the run.
    """

    run_id: str
    simulated: bool
    figures: RunFigures


@dataclass(frozen=True, slots=True, kw_only=True)
class RecomputedPage:
    """What became of some runs; the new figures are on record.

    Attributes:
        blocks: Figures of those runs.
        simulated: Those of them that were measured on a simulated rig.
        passed_over: Runs without new figures, and why.
        changed: What was changed of runs that were refused for it.
    """

    blocks: tuple[FigureBlock, ...]
    simulated: frozenset[str]
    passed_over: tuple[tuple[str, str], ...]
    changed: tuple[str, ...] = ()

    @property
    def run_ids(self) -> list[str]:
        """The runs with new figures, in order of identity."""
        return sorted(run_id for block in self.blocks for run_id in block.run_ids)

    def runs(self) -> list[RecomputedRun]:
        """Return the runs with new figures, in order of identity."""
        found = [
            RecomputedRun(
                run_id=run_id, simulated=run_id in self.simulated, figures=figures
            )
            for block in self.blocks
            for run_id, figures in zip(block.run_ids, block.figures(), strict=True)
        ]
        return sorted(found, key=lambda run: run.run_id)


class Recomputation:
    """Works figures out again; every page of them is one transaction.

    Attributes:
        unpooled: Parts whose noise could not be pooled, and why.
    """

    def __init__(
        self, store: Store, *, computed_at: datetime, pool_noise: bool = False
    ) -> None:
        self._store = store
        self._reader, self._writer = Reader(store), Writer(store)
        self._computed_at = computed_at
        self._pool_noise = pool_noise
        self._noises: dict[Like, SensorNoise] = {}
        self.unpooled: list[str] = []

    def of_runs(self, run_ids: Sequence[str]) -> RecomputedPage:
        """Work out the figures of certain runs, also of one that has not ended.

        Raises:
            RecordsError: There is no such run, or one of them was changed; nothing is
                written then.
            BenchError: The edges of one of them cannot be put together.
        """
        for run_id in run_ids:
            self._reader.verify(run_id)
        self._reader.refuse_changed(run_ids)
        self._pool(RunFilter(run_ids=tuple(run_ids)))
        return self._one_at_a_time(self._read(run_ids), asked_for=True)

    def of_all(
        self, *, runs_at_once: int = RUNS_AT_ONCE, processes: int = 1
    ) -> Iterator[RecomputedPage]:
        """Work out the figures of every run that has ended, page by page.

        Args:
            runs_at_once: Length of a page.
            processes: How many may work side by side. A few pages are worked out here,
                and so is everything where noise is pooled.
        """
        self._pool(RunFilter())
        pages = page_bounds(self._store, runs_at_once=runs_at_once)
        if processes == 1 or len(pages) < _PAGES_WORTH_PROCESSES or self._pool_noise:
            for first, last in pages:
                yield self.of_page(first, last)
        else:
            where = self._store.location
            yield from pages_in_processes(where, pages, self._computed_at, processes)

    def of_page(self, first: str, last: str) -> RecomputedPage:
        """Work out the figures of the runs from first to last that have ended."""
        page = run_page(self._store, first, last)
        blocks = () if self._pool_noise else _blocks_of(page)
        done = {run_id for block in blocks for run_id in block.run_ids}
        left = [run_id for run_id in page.every_run_id if run_id not in done]
        self._writer.add_figures_of_runs(blocks, computed_at=self._computed_at)
        checks = self._reader.checks(left)
        changed = {name for name, check in checks.items() if check.changes}
        sound = [run_id for run_id in left if run_id not in changed]
        rest = self._one_at_a_time(self._read(sound), asked_for=False)
        return RecomputedPage(
            blocks=(*blocks, *rest.blocks),
            simulated=page.simulated | rest.simulated,
            passed_over=rest.passed_over,
            changed=tuple(checks[name].sentence for name in sorted(changed)),
        )

    def _read(self, run_ids: Sequence[str]) -> Iterator[Run]:
        for start in range(0, len(run_ids), _READ_AT_ONCE):
            some = tuple(run_ids[start : start + _READ_AT_ONCE])
            yield from self._reader.iter_runs(RunFilter(run_ids=some))

    def _one_at_a_time(self, runs: Iterable[Run], *, asked_for: bool) -> RecomputedPage:
        blocks, simulated, passed_over = [], set(), []
        try:
            for run in runs:
                run_id = run.header.run_id
                why = _why_without(run, asked_for=asked_for)
                if not why:
                    try:
                        blocks.append(self._block_of(run))
                    except BenchError as exc:
                        if asked_for:
                            raise
                        why = f"has no figures: {exc}"
                if why:
                    passed_over.append((run_id, why))
                if run.header.conditions.simulated:
                    simulated.add(run_id)
        finally:
            # What was worked out before a fault is kept
            self._writer.add_figures_of_runs(blocks, computed_at=self._computed_at)
        return RecomputedPage(
            blocks=tuple(blocks),
            simulated=frozenset(simulated),
            passed_over=tuple(passed_over),
        )

    def _block_of(self, run: Run) -> FigureBlock:
        figures = run_figures(run, noise=self._noises.get(_like(run)))
        return block_of_run(run.header.run_id, figures)

    def _pool(self, wanted: RunFilter) -> None:
        """Find the noise of each part that has more than one run to pool."""
        if not self._pool_noise:
            return
        newest: defaultdict[Like, deque[RunArrays]] = defaultdict(
            lambda: deque(maxlen=_POOLED_RUNS)
        )
        checks = self._reader.checks([run.run_id for run in self._reader.runs(wanted)])
        for run in self._reader.iter_runs(wanted):
            changed = checks[run.header.run_id].changes
            if not changed and not _why_without(run, asked_for=False):
                newest[_like(run)].append(run_arrays(run))
        for like, arrays in newest.items():
            try:
                if len(arrays) < 2:
                    raise ValueError("there is one run of it only")
                self._noises[like] = noise_of_runs(arrays)
            except ValueError as exc:
                self.unpooled.append(f"Noise of {_name_of(like)} is not pooled: {exc}.")


def pages_in_processes(
    location: str,
    pages: Sequence[tuple[str, str]],
    computed_at: datetime,
    processes: int,
) -> Iterator[RecomputedPage]:
    """Work pages out in processes that each open the records, and yield them in order.

    Raises:
        RecordsError: The records cannot be read or written; pages that were done stay.
    """
    # Begun afresh: a copy of this one would share its connections to the records
    with ProcessPoolExecutor(
        min(processes, len(pages)),
        mp_context=get_context("spawn"),
        initializer=_open_in_process,
        initargs=(location, computed_at),
    ) as pool:
        try:
            yield from pool.map(_page_in_process, pages)
        except BrokenProcessPool as exc:
            raise RecordsError(
                "a process that worked figures out could not begin, or was ended",
                hint="run gapsweep recompute again; what was done is on record",
            ) from exc
        finally:
            pool.shutdown(cancel_futures=True)


_of_process: list[Recomputation] = []


def _open_in_process(location: str, computed_at: datetime) -> None:
    # Ctrl-C reaches every process of a terminal; the first one ends the others
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    store = open_records(location, create=False)
    _of_process.append(Recomputation(store, computed_at=computed_at))


def _page_in_process(bounds: tuple[str, str]) -> RecomputedPage:
    return _of_process[0].of_page(*bounds)


def _blocks_of(page: RunPage) -> tuple[FigureBlock, ...]:
    """Figures of the plain runs; none if one of them must be looked at by itself."""
    try:
        return tuple(figures_of_page(page))
    except ValueError:
        return ()


def _like(run: Run) -> Like:
    header = run.header
    return header.sensor, header.part, header.label, header.target


def _name_of(like: Like) -> str:
    sensor, part, label, target = like
    words = [sensor.name, f"part {part}" if part else "", label]
    return f"{', '.join(word for word in words if word)} against {target.name}"


def _why_without(run: Run, *, asked_for: bool) -> str:
    """Say why no figures are worked out for a run; empty if they are."""
    if run.void:
        return "has no figures: it is void"
    if not usable_sweeps(run):
        return "has no figures: it has no good sweep"
    if run.ended_at is None and not asked_for:
        return "has not ended; passed over"
    return ""
