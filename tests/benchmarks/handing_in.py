"""Benches hand in to a server that is killed: what is there at the end, and when."""

from __future__ import annotations

import tempfile
import time
from dataclasses import asdict
from pathlib import Path

from tests.benchmarks.registry import Claim, Report, Table, benchmark
from tests.campaigns.handing_in import hand_in_through_kills
from tests.database_server import DatabaseServer


@benchmark("handing_in", "8 benches x 1,000 sweeps, their server killed three times")
def handing_in() -> Report:
    """Hand in through three kills, then twice more, and count."""
    with DatabaseServer() as server, tempfile.TemporaryDirectory() as folder:
        begun = time.perf_counter()
        tally = hand_in_through_kills(
            server, Path(folder), benches=8, sweeps=1000, kills=3
        )
        taken_s = time.perf_counter() - begun
    rows = tuple((name, count) for name, count in asdict(tally).items())
    return Report(
        tables=(
            Table(
                title=f"Handed in through three kills, {taken_s:.0f} s in all",
                columns=("what", "count"),
                rows=rows,
            ),
        ),
        claims=(
            Claim(
                claim="8 x 1,000 sweeps through three kills: 0 lost, 0 doubled",
                measured=f"{tally.lost} lost, {tally.doubled} doubled,"
                f" {tally.distinct} sweeps there",
                met=(tally.lost, tally.doubled, tally.distinct) == (0, 0, 8000),
            ),
            Claim(
                claim="all handed in twice more: nothing is taken",
                measured=f"{tally.again} links taken",
                met=tally.again == 0,
            ),
        ),
        notes=("Killed is SIGKILL of every process of the server.",),
    )
