"""MIL-STD-1916, tables I and II: zero-acceptance plans, from memory.

The standard was not opened. The tables are built on ratios, which the values here are
held against: six rows on, lots are 32 times as large; a letter four places on asks for
the sample of the next stricter level, which is about 2.5 times that of the milder one.
"""

from __future__ import annotations

import tomllib
from importlib.resources import files
from itertools import pairwise

import pytest
import scipy.stats

from rig.analysis.acceptance.attributes import PlanKind, Severity
from rig.analysis.acceptance.zero_plan import verification_levels, zero_plan
from rig.errors import InputError

# Largest lot of each range, from memory
LARGEST = [170, 288, 544, 960, 1632, 3072, 5440, 9216, 17_408, 30_720]
LARGE = 1_000_000
DATA = tomllib.loads(
    files("rig.analysis").joinpath("data/zero_plans.toml").read_text("utf-8")
)


def test_ranges_of_lots_are_32_times_as_large_six_rows_on() -> None:
    assert [32 * early for early in LARGEST[:4]] == LARGEST[6:]
    assert [row["from"] for row in DATA["code_letters"]] == [
        2,
        *(largest + 1 for largest in LARGEST),
    ]


def test_the_letters_move_one_place_a_row() -> None:
    rows = [row["letters"].replace(" ", "") for row in DATA["code_letters"]]

    for above, below in pairwise(rows):
        # One letter further at each level, from A to E
        assert below[:-1] == above[1:]
    assert rows[0] == "A" * 7
    assert rows[-1] == "E" * 7


def test_letter_e_asks_for_what_letter_a_asks_for_one_level_stricter() -> None:
    samples = DATA["samples"]

    assert samples["E"][1:] == samples["A"][:-1]
    for letter, row in samples.items():
        ratios = [strict / mild for strict, mild in pairwise(row)]
        assert ratios == pytest.approx([2.5] * 8, rel=0.35), letter


@pytest.mark.parametrize("level", ["I", "II", "III", "IV", "V", "VI", "VII"])
def test_larger_lots_and_stricter_levels_ask_for_more(level: str) -> None:
    samples = [zero_plan(lot, level=level).sample for lot in (*LARGEST, LARGE)]

    assert samples == sorted(samples)
    order = verification_levels()
    at = order.index(level)
    for milder in order[:at]:
        assert zero_plan(LARGE, level=milder).sample < samples[-1]


def test_severity_moves_to_the_neighbouring_level() -> None:
    normal, tightened, reduced = (
        zero_plan(1000, level="IV", severity=severity).sample
        for severity in (Severity.NORMAL, Severity.TIGHTENED, Severity.REDUCED)
    )

    # Lot of 1000 at level IV: letter B, 96 parts; at V 256, at III 40 (from memory)
    assert (normal, tightened, reduced) == (96, 256, 40)


def test_no_nonconforming_part_is_accepted() -> None:
    plan = zero_plan(1000, level="II")

    assert (plan.sampling, plan.accept, plan.reject) == (PlanKind.ZERO, 0, 1)
    assert plan.aql_percent is None
    assert "from memory" in plan.source
    # Level II, letter D, 24 parts: 10 % nonconforming are accepted with 0.9 to the 24th
    assert plan.sample == 24
    assert scipy.stats.binom.cdf(0, 24, 0.1) == pytest.approx(0.9**24)


def test_a_small_lot_is_inspected_whole() -> None:
    plan = zero_plan(90, level="V")

    assert plan.sample == 90
    assert any("inspect them all" in words for words in plan.statements)


def test_what_is_not_in_the_table_is_refused() -> None:
    with pytest.raises(InputError, match="'VIII' is unknown"):
        zero_plan(100, level="VIII")
    with pytest.raises(InputError, match="lot of 1"):
        zero_plan(1, level="II")
