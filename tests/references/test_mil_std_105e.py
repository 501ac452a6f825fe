"""MIL-STD-105E: code letters and single sampling plans.

The tables stand alike in two independent public packages (arrows in one of them); the
standard itself was not opened. Here the tables are built up again from their structure:
plans of one acceptance number lie on a diagonal, because sample size and AQL change in
steps of one ratio. That catches any single wrong cell.
"""

from __future__ import annotations

import pytest

from rig.analysis.acceptance.attributes import (
    Severity,
    aqls_percent,
    attribute_plan,
    code_letter,
)

LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = [2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000]
REDUCED_SIZES = [2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800]
# Diagonal (letter + AQL place) to (Ac, Re); what is missing is an arrow
NORMAL = {9: (0, 1), 12: (1, 2), 13: (2, 3), 14: (3, 4), 15: (5, 6), 16: (7, 8)}
NORMAL |= {17: (10, 11), 18: (14, 15), 19: (21, 22)}
TIGHTENED = {10: (0, 1), 13: (1, 2), 14: (2, 3), 15: (3, 4), 16: (5, 6), 17: (8, 9)}
TIGHTENED |= {18: (12, 13), 19: (18, 19)}
REDUCED = {9: (0, 1), 12: (0, 2), 13: (1, 3), 14: (1, 4), 15: (2, 5), 16: (3, 6)}
REDUCED |= {17: (5, 8), 18: (7, 10), 19: (10, 13)}
# Where a diagonal without a plan of its own points to
ARROWS = {
    Severity.NORMAL: {10: 9, 11: 12},
    Severity.TIGHTENED: {11: 13, 12: 13},
    Severity.REDUCED: {10: 9, 11: 12},
}
DIAGONALS = {
    Severity.NORMAL: (NORMAL, SIZES),
    Severity.TIGHTENED: (TIGHTENED, SIZES),
    Severity.REDUCED: (REDUCED, REDUCED_SIZES),
}
# A lot of each letter at level II, larger than any sample
LOT_LEVEL = {
    letter: (lot, level)
    for lot, level in [
        (n, lv)
        for lv in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
        for n in (5000, 20000, 100000, 400000, 600000)
    ]
    for letter in [code_letter(lot, level)]
}


@pytest.mark.parametrize("severity", list(Severity))
def test_every_plan_follows_from_the_diagonals(severity: Severity) -> None:
    diagonals, sizes = DIAGONALS[severity]
    first, last = min(diagonals), max(diagonals)
    checked = 0
    for letter, (lot, level) in LOT_LEVEL.items():
        i = LETTERS.index(letter)
        for j, aql in enumerate(aqls_percent()):
            to = min(max(i + j, first), last)
            to = ARROWS[severity].get(to, to)

            plan = attribute_plan(lot, aql_percent=aql, level=level, severity=severity)

            assert plan.letter == letter
            assert (plan.sample, plan.accept, plan.reject) == (
                sizes[to - j],
                *diagonals[to],
            ), (letter, aql)
            checked += 1
    assert checked == 10 * len(LOT_LEVEL)
    assert len(LOT_LEVEL) >= 14


def test_the_best_known_plan() -> None:
    plan = attribute_plan(1000, aql_percent=1.0, level="II")

    assert (plan.letter, plan.sample, plan.accept, plan.reject) == ("J", 80, 2, 3)


# Lot, then letters for S-1, S-2, S-3, S-4, I, II, III
CODE_LETTERS = """
2 8 AAAAAAB
9 15 AAAAABC
16 25 AABBBCD
26 50 ABBCCDE
51 90 BBCCCEF
91 150 BBCDDFG
151 280 BCDEEGH
281 500 BCDEFHJ
501 1200 CCEFGJK
1201 3200 CDEGHKL
3201 10000 CDFGJLM
10001 35000 CDFHKMN
35001 150000 DEGJLNP
150001 500000 DEGJMPQ
500001 9000000 DEHKNQR
"""


@pytest.mark.parametrize("line", CODE_LETTERS.split("\n")[1:-1])
def test_code_letters_at_both_ends_of_a_range(line: str) -> None:
    low, high, letters = line.split()

    for lot in (int(low), int(high)):
        found = "".join(
            code_letter(lot, level)
            for level in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
        )
        assert found == letters


# Arrows, as the package that resolves them has it
@pytest.mark.parametrize(
    ("severity", "lot", "aql", "plan"),
    [
        (Severity.NORMAL, 100, 0.10, (100, 0, 1)),  # n = 125 and so the whole lot
        (Severity.NORMAL, 100, 1.0, (13, 0, 1)),
        (Severity.NORMAL, 1000, 0.40, (125, 1, 2)),
        (Severity.TIGHTENED, 1000, 0.40, (200, 1, 2)),
        (Severity.REDUCED, 1000, 0.40, (50, 0, 2)),
    ],
)
def test_arrows(
    severity: Severity, lot: int, aql: float, plan: tuple[int, int, int]
) -> None:
    found = attribute_plan(lot, aql_percent=aql, severity=severity)

    assert (found.sample, found.accept, found.reject) == plan


def test_the_reduced_table_says_that_it_is_not_that_of_iso_2859_1() -> None:
    plan = attribute_plan(1000, aql_percent=1.0, severity=Severity.REDUCED)

    assert any("not of ISO 2859-1" in words for words in plan.statements)
    assert "not ISO 2859-1" in plan.source
