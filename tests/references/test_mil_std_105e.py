"""MIL-STD-105E: code letters and single sampling plans.

Table I and the plans of table II-A were read on public pages that print them
(scribd.com/document/563507790, pt.scribd.com/document/212342834,
pdfcoffee.com/aql-sampling-chart-pdf-free.html). Tables II-B and II-C stand alike in two
independent public packages for AQL 0.10 to 6.5 (arrows in one of them) and were not
opened. Here all tables are built up again from their structure: plans of one acceptance
number lie on a diagonal, because sample size and AQL change in steps of one ratio. That
catches any single wrong cell.
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
# The last one is letter S, which table II-B alone has, for AQL 0.025
SIZES = [2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000, 3150]
REDUCED_SIZES = [2, 2, 2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800]
AQLS = [0.010, 0.015, 0.025, 0.040, 0.065, 0.10, 0.15, 0.25, 0.40, 0.65]
AQLS += [1.0, 1.5, 2.5, 4.0, 6.5, 10.0]
# Diagonal (letter + AQL place, from AQL 0.10) to (Ac, Re); what is missing is an arrow
NORMAL = {9: (0, 1), 12: (1, 2), 13: (2, 3), 14: (3, 4), 15: (5, 6), 16: (7, 8)}
NORMAL |= {17: (10, 11), 18: (14, 15), 19: (21, 22)}
TIGHTENED = {10: (0, 1), 13: (1, 2), 14: (2, 3), 15: (3, 4), 16: (5, 6), 17: (8, 9)}
TIGHTENED |= {18: (12, 13), 19: (18, 19)}
REDUCED = {9: (0, 1), 12: (0, 2), 13: (1, 3), 14: (1, 4), 15: (2, 5), 16: (3, 6)}
REDUCED |= {17: (5, 8), 18: (7, 10), 19: (10, 13)}
# Where a diagonal without a plan of its own points to, and the other way for cells at
# whose edge of the table there is nothing to point to
ARROWS = {
    Severity.NORMAL: {10: (9, 12), 11: (12, 9)},
    Severity.TIGHTENED: {11: (13, 10), 12: (13,)},
    Severity.REDUCED: {10: (9, 12), 11: (12, 9)},
}
DIAGONALS = {
    Severity.NORMAL: (NORMAL, SIZES[:-1]),
    Severity.TIGHTENED: (TIGHTENED, SIZES),
    Severity.REDUCED: (REDUCED, REDUCED_SIZES),
}
# A lot of each letter, as large as the letter allows here
LOT_LEVEL = {
    letter: (lot, level)
    for lot, level in [
        (n, lv)
        for lv in ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
        for n in (8, 500, 5000, 20000, 100000, 400000, 600000)
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
        for j, aql in enumerate(AQLS, start=-5):
            at = min(max(i + j, first), last)
            ways = ARROWS[severity].get(at, (at,))
            to = next(way for way in ways if 0 <= way - j < len(sizes))

            plan = attribute_plan(lot, aql_percent=aql, level=level, severity=severity)

            assert plan.letter == letter
            assert plan.plan_letter == [*LETTERS, "S"][to - j]
            assert (plan.sample, plan.accept, plan.reject) == (
                min(sizes[to - j], lot),
                *diagonals[to],
            ), (letter, aql)
            checked += 1
    assert list(aqls_percent()) == AQLS
    assert checked == 16 * len(LOT_LEVEL)
    assert "".join(sorted(LOT_LEVEL)) == LETTERS


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


# Table II-A row by row, as scribd.com/document/563507790 prints it: the acceptance
# numbers of a row in the order of the AQLs, without its arrows. Row R has no plan with
# Ac 0, which its first AQLs therefore reach by the arrow up.
ROWS = {
    "K": [0, 1, 2, 3, 5, 7, 10, 14, 21],
    "Q": [0, 1, 2, 3, 5, 7, 10, 14, 21],
    "R": [1, 2, 3, 5, 7, 10, 14, 21],
}


@pytest.mark.parametrize("letter", ROWS)
def test_rows_of_the_normal_table_as_they_are_printed(letter: str) -> None:
    lot, level = {"K": (2000, "II"), "Q": (600_000, "II"), "R": (600_000, "III")}[
        letter
    ]

    plans = [attribute_plan(lot, aql_percent=aql, level=level) for aql in AQLS]

    own = [plan.accept for plan in plans if plan.plan_letter == letter]
    assert own == ROWS[letter]
    assert {plan.letter for plan in plans} == {letter}


# What the smallest and the largest AQLs ask for
@pytest.mark.parametrize(
    ("severity", "lot", "level", "aql", "plan"),
    [
        # Table II-A: row Q has 0 1 at 0.010, row R the arrow up to it
        (Severity.NORMAL, 600_000, "II", 0.010, ("Q", "Q", 1250, 0, 1)),
        (Severity.NORMAL, 600_000, "III", 0.010, ("R", "Q", 1250, 0, 1)),
        (Severity.NORMAL, 600_000, "III", 0.015, ("R", "P", 800, 0, 1)),
        (Severity.NORMAL, 600_000, "III", 0.025, ("R", "R", 2000, 1, 2)),
        # Letter A has a plan at AQL 6.5 alone; below that the arrow leads to others
        (Severity.NORMAL, 8, "II", 6.5, ("A", "A", 2, 0, 1)),
        (Severity.NORMAL, 8, "II", 4.0, ("A", "B", 3, 0, 1)),
        (Severity.NORMAL, 8, "II", 10.0, ("A", "C", 5, 1, 2)),
        (Severity.NORMAL, 15, "II", 6.5, ("B", "A", 2, 0, 1)),
        # Table II-B: letter S stands there for AQL 0.025 (from memory)
        (Severity.TIGHTENED, 600_000, "III", 0.010, ("R", "R", 2000, 0, 1)),
        (Severity.TIGHTENED, 600_000, "III", 0.025, ("R", "S", 3150, 1, 2)),
        (Severity.TIGHTENED, 8, "II", 10.0, ("A", "A", 2, 0, 1)),
    ],
)
def test_plans_at_the_edges_of_the_tables(
    severity: Severity,
    lot: int,
    level: str,
    aql: float,
    plan: tuple[str, str, int, int, int],
) -> None:
    found = attribute_plan(lot, aql_percent=aql, level=level, severity=severity)

    assert plan == (
        *(found.letter, found.plan_letter),
        *(found.sample, found.accept, found.reject),
    )
