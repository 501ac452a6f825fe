"""NIST/SEMATECH e-Handbook 6.2.3.2: operating characteristic; and exact recomputation.

The handbook's printed digits are from memory; its .845 and .739 are .846 and .738.
"""

from __future__ import annotations

import pytest

from rig.analysis.acceptance.attributes import single_stage
from rig.analysis.acceptance.operating_curve import (
    acceptance_binomial,
    acceptance_hypergeometric,
    share_accepted_with,
)
from rig.analysis.acceptance.staged_curve import (
    average_outgoing_limit,
    average_outgoing_share,
)

# n = 52, c = 3 at p = 0.01 ... 0.12
PRINTED = [0.998, 0.980, 0.930, 0.845, 0.739, 0.620]
PRINTED += [0.502, 0.394, 0.300, 0.223, 0.162, 0.115]
EXACT = [0.9982, 0.9798, 0.9295, 0.8460, 0.7383, 0.6196]
EXACT += [0.5018, 0.3938, 0.3003, 0.2232, 0.1621, 0.1152]


def test_curve_of_the_handbook() -> None:
    found = acceptance_binomial([0.01 * i for i in range(1, 13)], 52, 3)

    assert found == pytest.approx(PRINTED, abs=1.01e-3)
    assert found == pytest.approx(EXACT, abs=5.1e-5)


# The same plan: average outgoing share at p = 0.02 ... 0.12. The printed table leaves
# (N - n)/N out, its example (lot of 10,000, p = 0.03) does not; digits from memory.
OUTGOING = [0.0196, 0.0278, 0.0338, 0.0369, 0.0372, 0.0351]
OUTGOING += [0.0315, 0.0270, 0.0223, 0.0178, 0.0138]
OUTGOING_OF_EXAMPLE = 0.02775


def test_average_outgoing_quality_of_the_handbook() -> None:
    incoming = [0.01 * i for i in range(2, 13)]
    plan = single_stage(52, 3)
    found = average_outgoing_share(incoming, plan, lot=10**9)
    at_share, limit_share = average_outgoing_limit(plan, lot=10**9)
    (example,) = average_outgoing_share([0.03], plan, lot=10_000)

    assert found == pytest.approx(OUTGOING, abs=1.01e-4)
    # Recomputed: largest between the printed 0.0369 at 5 % and 0.0372 at 6 %
    assert limit_share == pytest.approx(0.037384, abs=1e-6)
    assert at_share == pytest.approx(0.0561, abs=5e-4)
    assert example == pytest.approx(OUTGOING_OF_EXAMPLE, abs=2e-5)


# Recomputed: Pa at 0.5, 1, 2, 5 %, and p at Pa 0.95, 0.50, 0.10
PLANS = {
    (13, 0): ((0.9369, 0.8775, 0.7690, 0.5133), (0.003938, 0.051922, 0.162322)),
    (32, 1): ((0.9888, 0.9593, 0.8660, 0.5200), (0.011219, 0.051896, 0.116195)),
    (80, 2): ((0.9923, 0.9534, 0.7844, 0.2306), (0.010298, 0.033285, 0.065160)),
}


@pytest.mark.parametrize("plan", PLANS)
def test_plans(plan: tuple[int, int]) -> None:
    chances, shares = PLANS[plan]

    assert acceptance_binomial([0.005, 0.01, 0.02, 0.05], *plan) == pytest.approx(
        chances, abs=5.1e-5
    )
    found = [share_accepted_with(chance, *plan) for chance in (0.95, 0.5, 0.1)]
    assert found == pytest.approx(shares, abs=5.1e-7)


def test_one_lot_two_models() -> None:
    assert acceptance_hypergeometric(20, 1000, 80, 2) == pytest.approx(
        0.789247, abs=5e-7
    )
    assert acceptance_binomial(0.02, 80, 2) == pytest.approx(0.784419, abs=5e-7)
