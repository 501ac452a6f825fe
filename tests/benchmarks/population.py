"""Coverage of the stated uncertainties over benches of the population."""

from __future__ import annotations

import math
import tempfile
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.registry import Cell, Claim, Report, Table, benchmark
from tests.campaigns.benches import draw_benches
from tests.campaigns.coverage import (
    LEAST,
    MOST,
    MOST_FOR_BLOCKS,
    PRICED,
    REDUCTION,
    WRONG_ACCEPTS,
    Tally,
    campaign,
    counting_error,
    half_width_ratios,
    over_all_pairs,
)
from tests.campaigns.eight_hours import (
    DRIFT,
    READINGS,
    REPEAT,
    REPEAT_PERCENT,
    eight_hours,
)
from tests.campaigns.knowledge import BLOCKS, SCREW_KNOWN, STATES
from tests.campaigns.rig_tallies import SWEEPS as SWEEPS_ON_RIG
from tests.campaigns.rig_tallies import measured_on_rig, tallies_of
from tests.campaigns.told_to_records import TELL

BENCHES = 2000
BENCHES_END_TO_END = 300
SUMMED = 10  # sweeps of the runs that are put side by side
_PROCESSES = 2
_HEADS = {
    "operate": "operate",
    "release": "release",
    "differential_travel": "H",
    "differential_travel_percent": "H %",
    "threshold_operate": "threshold on",
    "threshold_release": "threshold off",
    "first_passage_bias_operate": "bias on",
    "first_passage_bias_release": "bias off",
    "response_time_operate": "response on",
    "response_time_release": "response off",
    REDUCTION: "reduction",
    REPEAT: "R 8 h",
    REPEAT_PERCENT: "R 8 h %",
    DRIFT: "drift",
}
# Nothing is held against these, so nothing is accepted by them
_WITHOUT_LIMIT = (
    *("threshold_operate", "threshold_release", REDUCTION, DRIFT),
    *("first_passage_bias_operate", "first_passage_bias_release"),
)
_OF_A_PERSON = [state for state in STATES if not state.true]
_UNITS = (
    "U: median of those stated; um, but % for H % and R %, ms for response times, um/h"
    " for the drift and 1 in 10,000 for the reduction factor."
)


@benchmark("population", "stated 95 % over 2,000 drawn benches, from arrays")
def population() -> Report:
    """Count coverage in every state of knowledge."""
    benches = draw_benches(range(BENCHES))
    tallies = list(campaign(STATES, benches))
    # To know the screw perfectly would need the checks of the face corrected too
    over_hours = list(eight_hours(_OF_A_PERSON, benches))
    return Report(
        tables=(
            _summary(tallies, SUMMED),
            _summary(over_hours, READINGS),
            _price_of_blocks(tallies),
            *_all_tables(tallies),
            *_all_tables(over_hours, title="8 h"),
        ),
        claims=(
            *_claims([tally for tally in tallies if tally.state in TELL]),
            *_claims(over_hours),
            *_claims_for_blocks(tallies),
        ),
        notes=(
            f"{BENCHES} benches a cell: 95 % is counted within"
            f" {100 * counting_error(0.95, BENCHES):.1f} % twice out of three times.",
            _UNITS,
            "Perfect knowledge is out of every host's reach; it shows what the rest of"
            " the analysis does, and what ignorance of the bench costs.",
            "8 h: n is the number of readings; a run whose face moved by more than a"
            " run can bear is void and has no U.",
        ),
    )


@benchmark("population_on_rig", "stated 95 % over 300 drawn benches, end to end")
def population_on_rig() -> Report:
    """Measure benches through link and procedures, in every state of a person."""
    began_s = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        documents = measured_on_rig(
            Path(folder), BENCHES_END_TO_END, processes=_PROCESSES
        )
    took_s = time.monotonic() - began_s
    tallies = list(tallies_of(documents))
    refused = [document for document in documents if "refused" in document]
    rows = tuple((d["state"], d["bench"], d["pair"], d["refused"]) for d in refused)
    heads = ("state", "bench", "pair", "why")
    return Report(
        tables=(
            _summary(tallies, SWEEPS_ON_RIG),
            *_all_tables(tallies, title="end to end"),
            *([Table(title="refused", columns=heads, rows=rows)] if rows else []),
        ),
        claims=tuple(_claims(over_all_pairs(tallies))),
        notes=(
            f"{BENCHES_END_TO_END} benches, two targets each, {SWEEPS_ON_RIG} sweeps a"
            f" run, in {len(TELL)} states: {took_s:.0f} s in {_PROCESSES} processes;"
            f" {len(refused)} runs of {len(documents)} were refused.",
            "Claims are counted over all sensors and targets.",
            _UNITS,
        ),
    )


def _all_tables(tallies: Sequence[Tally], title: str = "") -> Iterable[Table]:
    for state in dict.fromkeys(tally.state for tally in tallies):
        whole = f"{state}, {title}" if title else state
        yield from _tables(whole, [t for t in tallies if t.state == state])


def _price_of_blocks(tallies: Sequence[Tally]) -> Table:
    """Return median U with blocks over that of a screw that is known perfectly."""
    ratios = half_width_ratios(tallies, BLOCKS, SCREW_KNOWN, PRICED)
    cells = dict.fromkeys((pair, n) for pair, n, _ in ratios)
    return Table(
        title="median U with gauge blocks over that with the screw known perfectly",
        columns=("sensor, target", "n", *(_HEADS[name] for name in PRICED)),
        rows=tuple(
            (pair, n, *(f"{ratios[pair, n, name]:.3f}" for name in PRICED))
            for pair, n in cells
        ),
    )


def _claims_for_blocks(tallies: Sequence[Tally]) -> Iterable[Claim]:
    ratios = half_width_ratios(tallies, BLOCKS, SCREW_KNOWN, PRICED)
    for name in PRICED:
        largest = max(ratio for (*_, figure), ratio in ratios.items() if figure == name)
        yield Claim(
            claim=f"{BLOCKS.name}: median U of {_HEADS[name]} at most"
            f" {MOST_FOR_BLOCKS:g} times that of a screw known perfectly",
            measured=f"{largest:.3f} at most",
            met=largest <= MOST_FOR_BLOCKS,
        )


def _summary(tallies: Sequence[Tally], n: int) -> Table:
    """Return coverage over all sensors and targets, and U, a state beside another."""
    states = list(dict.fromkeys(tally.state for tally in tallies))
    rows = []
    for name, head in _heads_of(tallies).items():
        cells: list[Cell] = []
        for state in states:
            mine = [
                tally
                for tally in tallies
                if (tally.state, tally.figure, tally.sweeps) == (state, name, n)
            ]
            stated = sum(tally.stated for tally in mine)
            covered = sum(tally.covered for tally in mine)
            share = 100.0 * covered / stated if stated else math.nan
            half = float(np.median([_scaled(tally) for tally in mine]))
            cells += [f"{share:.1f}", f"{half:.3g}"]
        rows.append((head, *cells))
    heads = [head for state in states for head in (f"{state}: %", "U")]
    return Table(
        title=f"covered, % of stated 95 %, and median U; all sensors, n = {n}",
        columns=("figure", *heads),
        rows=tuple(rows),
    )


def _tables(state: str, tallies: Sequence[Tally]) -> list[Table]:
    runs = list(dict.fromkeys((tally.pair, tally.sweeps) for tally in tallies))
    by = {(t.pair, t.sweeps, t.figure): t for t in tallies}
    heads = _heads_of(tallies)

    def rows(cell: Any) -> tuple[tuple[Cell, ...], ...]:
        return tuple(
            (
                pair,
                n,
                *(
                    cell(by[pair, n, name]) if (pair, n, name) in by else None
                    for name in heads
                ),
            )
            for pair, n in runs
        )

    columns = ("sensor, target", "n", *heads.values())
    without = Table(
        title=f"{state}: without U, % of the runs",
        columns=columns,
        rows=rows(lambda tally: f"{100.0 * (1.0 - tally.stated / tally.runs):.1f}"),
    )
    any_without = any(tally.stated < tally.runs for tally in tallies)
    return [
        Table(
            title=f"{state}: covered, % of stated 95 %",
            columns=columns,
            rows=rows(lambda tally: f"{100.0 * tally.share:.1f}"),
        ),
        Table(
            title=f"{state}: median U",
            columns=columns,
            rows=rows(lambda tally: f"{_scaled(tally):.3g}"),
        ),
        *([without] if any_without else []),
        Table(
            title=f"{state}: wrong accepts with the truth on a limit, % of the runs",
            columns=columns,
            rows=rows(lambda tally: f"{100.0 * tally.wrong_accepts:.1f}"),
        ),
    ]


def _heads_of(tallies: Sequence[Tally]) -> dict[str, str]:
    figures = {tally.figure for tally in tallies}
    return {name: head for name, head in _HEADS.items() if name in figures}


def _scaled(tally: Tally) -> float:
    if tally.figure == REDUCTION:
        return 1e4 * tally.half_width
    alone = tally.figure.startswith("response") or tally.figure.endswith("percent")
    return tally.half_width if alone else 1e3 * tally.half_width


def _claims(tallies: Sequence[Tally]) -> Iterable[Claim]:
    cells: dict[tuple[str, str], list[Tally]] = {}
    for tally in tallies:
        if tally.stated:
            cells.setdefault((tally.state, tally.figure), []).append(tally)
    together: dict[tuple[str, str], list[Tally]] = {}
    for tally in over_all_pairs(tallies):
        if tally.stated:
            together.setdefault((tally.state, tally.figure), []).append(tally)
    for (state, name), mine in cells.items():
        least_share = min(tally.share for tally in mine)
        largest = max(together[state, name], key=lambda tally: tally.share)
        most = MOST + 3.5 * counting_error(MOST, largest.stated)
        wrong = max(tally.wrong_accepts for tally in mine)
        least = min(tally.runs for tally in mine)
        allowed = WRONG_ACCEPTS + 3.5 * counting_error(WRONG_ACCEPTS, least)
        yield Claim(
            claim=f"{state}: {_HEADS[name]} covered in 90 % or more of each cell, and"
            f" in {100 * most:.1f} % or less over all sensors and targets",
            measured=f"{100 * least_share:.1f} % at least;"
            f" {100 * largest.share:.1f} % at most",
            met=least_share >= LEAST and largest.share <= most,
        )
        if name not in _WITHOUT_LIMIT:
            yield Claim(
                claim=f"{state}: {_HEADS[name]} wrongly accepted in at most"
                f" {100 * allowed:.1f} %",
                measured=f"{100 * wrong:.1f} %",
                met=wrong <= allowed,
            )
