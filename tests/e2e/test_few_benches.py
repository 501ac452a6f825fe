"""A dozen drawn benches from homing to the figures: `test_coverage.py` takes 200."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from scipy.stats import binom

pytestmark = pytest.mark.long

BENCHES = 12
SCRIPT = Path(__file__).parent / "drawn_benches.py"


def test_the_stated_uncertainty_covers_the_truth_of_most_benches(
    tmp_path: Path,
) -> None:
    done = subprocess.run(
        [sys.executable, str(SCRIPT), str(tmp_path / "r.sqlite"), "0", str(BENCHES)],
        stdout=subprocess.PIPE,
        text=True,
        check=True,
    )
    benches = [json.loads(line) for line in done.stdout.splitlines()]

    assert [bench["seed"] for bench in benches] == list(range(BENCHES))
    # A void sweep is repeated; strong noise makes one in 4,000
    assert 0 <= sum(bench["sweeps"] - 10 for bench in benches) <= 1
    # As few as chance lets a true 95 % cover once in two thousand times
    least = binom.ppf(5e-4, BENCHES, 0.95)
    for figure in ("operate", "release", "travel"):
        found = [bench[figure] for bench in benches]
        assert sum(abs(one["error"]) <= one["expanded"] for one in found) >= least
    wrong = [bench["travel_without_backlash"] for bench in benches]
    assert sum(abs(one["error"]) <= one["expanded"] for one in wrong) < least
