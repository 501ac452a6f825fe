"""Benches measured end to end, in processes of their own, and how they did."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from tests.campaigns.coverage import FIGURES, REDUCTION, Tally

SWEEPS = 5


def measured_on_rig(
    folder: Path, benches: int, *, sweeps: int = SWEEPS, processes: int = 1
) -> list[dict[str, Any]]:
    """Measure so many benches in every state; return a document for each run.

    Args:
        folder: Where the records go.
        benches: How many, a multiple of the processes.
        sweeps: Sweeps of each run.
        processes: How many processes share the work.

    Raises:
        CalledProcessError: A process failed.
    """
    share = benches // processes

    def measured(first: int) -> str:
        done = subprocess.run(
            [
                *(sys.executable, "-m", "tests.campaigns.end_to_end", str(folder)),
                *(str(first), str(share), str(sweeps)),
            ],
            stdout=subprocess.PIPE,
            text=True,
            check=True,
            cwd=Path(__file__).parents[2],
        )
        return done.stdout

    # A thread for each, so that no process waits for its output to be read
    with ThreadPoolExecutor(processes) as threads:
        outputs = list(threads.map(measured, range(0, share * processes, share)))
    return [json.loads(line) for text in outputs for line in text.splitlines()]


def tallies_of(
    documents: Sequence[dict[str, Any]], *, sweeps: int = SWEEPS
) -> Iterator[Tally]:
    """Count coverage in every state, for each pair and figure."""
    done = [document for document in documents if "figures" in document]
    cells = dict.fromkeys((each["state"], each["pair"]) for each in done)
    for state, pair in cells:
        runs = [d["figures"] for d in done if (d["state"], d["pair"]) == (state, pair)]
        for figure in (*FIGURES, REDUCTION):
            found = [figures[figure] for figures in runs if figure in figures]
            if found:
                yield _tally(state, pair, sweeps, figure, found)


def _tally(
    state: str,
    pair: str,
    sweeps: int,
    figure: str,
    found: Sequence[dict[str, float | None]],
) -> Tally:
    error, half = (
        np.array([each[name] for each in found], dtype=np.float64)
        for name in ("error", "expanded")
    )
    stated = np.isfinite(half)
    above = int(np.sum(error[stated] > half[stated]))
    below = int(np.sum(error[stated] < -half[stated]))
    return Tally(
        state=state,
        pair=pair,
        sweeps=sweeps,
        figure=figure,
        runs=len(found),
        stated=int(stated.sum()),
        covered=int(stated.sum()) - above - below,
        above=above,
        below=below,
        half_width=float(np.median(half[stated])) if stated.any() else float("nan"),
    )
