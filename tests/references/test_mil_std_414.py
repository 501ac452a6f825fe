"""MIL-STD-414 and Z1.9: s method, form k, and its code letters.

Table B-1 was read on a public page that prints it for the letters of Z1.9
(web.tecnico.ulisboa.pt/~mcasquilho/acad/cq/Z1.9.B1.html), whose end was cut off; table
A-2 of Z1.9-2008 on studylib.es/doc/9356105. Table B-3 is from memory. The standards
themselves and ISO 3951-1 were not opened.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from rig.analysis.acceptance.attributes import Severity
from rig.analysis.acceptance.variables import estimated_share
from rig.analysis.acceptance.variables_plan import (
    variables_plan,
    variables_plan_of_lot,
)
from rig.errors import InputError

AQLS = (0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0)

# Table B-1 as the page prints it, for AQL 0.10 to 1.5 or as far as an arrow, 0 for one
PRINTED = {
    3: (0, 0, 0, 0, 0, 0, 0, 1.12, 0.958, 0.765, 0.566),
    4: (0, 0, 0, 0, 0, 1.45, 1.34, 1.17, 1.01, 0.814, 0.617),
    5: (0, 0, 0, 0, 1.65, 1.53, 1.40, 1.24, 1.07, 0.874, 0.675),
    7: (0, 0, 2.00, 1.88, 1.75, 1.62, 1.50, 1.33, 1.15, 0.955, 0.755),
    10: (0, 2.24, 2.11, 1.98, 1.84, 1.72, 1.58, 1.41, 1.23, 1.03, 0.828),
    15: (2.42, 2.32, 2.20, 2.06, 1.91, 1.79, 1.65),
    20: (2.47, 2.36, 2.24, 2.11, 1.96, 1.82, 1.69),
    25: (2.50, 2.40, 2.26, 2.14, 1.98, 1.85, 1.72),
    35: (2.54, 2.45, 2.31, 2.18, 2.03, 1.89, 1.76),
    50: (2.60, 2.50, 2.35, 2.22, 2.08, 1.93, 1.80),
    75: (2.66, 2.55, 2.41, 2.27, 2.12, 1.98, 1.84),
    100: (2.69, 2.58, 2.43, 2.29, 2.14, 2.00, 1.86),
    150: (2.73, 2.61, 2.47, 2.33, 2.18, 2.03, 1.89),
    200: (2.73, 2.62, 2.47, 2.33, 2.18, 2.04, 1.89),
}
# The column before that of 0.10 %, which the page prints for tightened inspection at it
TIGHTENED_AT_THE_FIRST = {15: 2.53, 20: 2.58, 25: 2.61, 35: 2.65, 50: 2.71}
TIGHTENED_AT_THE_FIRST |= {75: 2.77, 100: 2.80, 150: 2.84, 200: 2.85}

# Table B-3, largest allowed share M in %, to AQL 10 %, from memory
ALLOWED_PERCENT = {
    3: (7.59, 18.86, 26.94, 33.69),
    4: (1.53, 5.50, 10.92, 16.45, 22.86, 29.45),
    5: (1.33, 3.32, 5.83, 9.80, 14.39, 20.19, 26.56),
    7: (0.422, 1.06, 2.14, 3.55, 5.35, 8.40, 12.20, 17.35, 23.29),
    10: (0.349, 0.716, 1.30, 2.17, 3.26, 4.77, 7.29, 10.54, 15.17, 20.74),
    15: (0.312, 0.503, 0.818, 1.31, 2.11, 3.05, 4.31, 6.56, 9.46, 13.71, 18.94),
    20: (0.365, 0.544, 0.846, 1.29, 2.05, 2.95, 4.09, 6.17, 8.92, 12.99, 18.03),
    25: (0.380, 0.551, 0.877, 1.29, 2.00, 2.86, 3.97, 5.97, 8.63, 12.57, 17.51),
    35: (0.388, 0.535, 0.847, 1.23, 1.87, 2.68, 3.70, 5.57, 8.10, 11.87, 16.65),
    50: (0.363, 0.503, 0.789, 1.17, 1.71, 2.49, 3.45, 5.20, 7.61, 11.23, 15.87),
    75: (0.330, 0.467, 0.720, 1.07, 1.60, 2.29, 3.20, 4.87, 7.15, 10.63, 15.13),
    100: (0.317, 0.447, 0.689, 1.02, 1.53, 2.20, 3.07, 4.69, 6.91, 10.32, 14.75),
    150: (0.293, 0.413, 0.638, 0.949, 1.43, 2.05, 2.89, 4.43, 6.57, 9.88, 14.20),
    200: (0.294, 0.414, 0.637, 0.945, 1.42, 2.04, 2.87, 4.40, 6.53, 9.81, 14.12),
}


@pytest.mark.parametrize("n", PRINTED)
def test_constants_as_they_are_printed(n: int) -> None:
    larger = list(PRINTED)
    for aql, k in zip(AQLS, PRINTED[n], strict=False):
        plan = variables_plan(n, aql_percent=aql)

        if k:
            assert (plan.sample, plan.k, plan.statements) == (n, k, ())
        else:
            # The first row below that has a plan
            at = AQLS.index(aql)
            to = next(one for one in larger if one > n and PRINTED[one][at])
            assert (plan.sample, plan.k) == (to, PRINTED[to][at])
            assert any("arrow" in words for words in plan.statements)


@pytest.mark.parametrize("n", ALLOWED_PERCENT)
def test_each_constant_belongs_to_its_largest_allowed_share(n: int) -> None:
    shares = ALLOWED_PERCENT[n]
    for aql, percent in zip(AQLS[-len(shares) :], shares, strict=True):
        k = variables_plan(n, aql_percent=aql).k

        # k is printed to 0.01, below 1 to 0.001, and M to three digits
        half = 0.0055 if k >= 1.0 else 0.0008
        least, most = (100.0 * estimated_share(k + by, n) for by in (half, -half))
        assert least <= percent <= most, (aql, k)


@pytest.mark.parametrize("n", PRINTED)
def test_tightened_inspection_takes_the_constant_of_the_next_smaller_aql(
    n: int,
) -> None:
    for smaller, aql in pairwise(AQLS):
        tightened = variables_plan(n, aql_percent=aql, severity=Severity.TIGHTENED)
        normal = variables_plan(n, aql_percent=smaller)

        assert (tightened.sample, tightened.k) == (normal.sample, normal.k)
    first = variables_plan(n, aql_percent=0.10, severity=Severity.TIGHTENED)
    assert first.k == TIGHTENED_AT_THE_FIRST[max(n, 15)]


# Z1.9-2008, table A-2, as the page prints it: columns S-3, S-4, I, II, III
CODE_LETTERS = """
2 8 BBBBC
9 15 BBBBD
16 25 BBBCE
26 50 BBCDF
51 90 BBDEG
91 150 BCEFH
151 280 BDFGI
281 400 CEGHJ
401 500 CEGIJ
501 1200 DFHJK
1201 3200 EGIKL
3201 10000 FHJLM
10001 35000 GIKMN
35001 150000 HJLNP
150001 500000 HKMPP
500001 9000000 HKNPP
"""


@pytest.mark.parametrize("line", CODE_LETTERS.split("\n")[1:-1])
def test_code_letters_at_both_ends_of_a_range(line: str) -> None:
    low, high, letters = line.split()

    for lot in (int(low), int(high)):
        found = "".join(
            # AQL 10 % has a plan of its own for every letter
            variables_plan_of_lot(lot, aql_percent=10.0, level=level).letter
            for level in ("S-3", "S-4", "I", "II", "III")
        )
        assert found == letters


def test_reduced_inspection_by_variables_is_refused_and_not_made_up() -> None:
    with pytest.raises(InputError, match="not offered by variables"):
        variables_plan_of_lot(1000, aql_percent=1.0, severity=Severity.REDUCED)
