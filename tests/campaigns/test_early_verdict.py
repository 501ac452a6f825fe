"""Ending a run at a clear verdict makes no more wrong verdicts than all sweeps do."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.stats import binom

from rig.analysis.limits.verdict import Decision
from rig.analysis.standard.early_verdict import EARLY_COVERAGE
from tests.campaigns.benches import draw_benches
from tests.campaigns.early_verdicts import (
    FIGURES,
    FIRST_LOOK,
    SWEEPS,
    Ended,
    Looks,
    ended,
    looks,
)
from tests.campaigns.knowledge import ALL_KNOWN, NOTHING_DECLARED, State

BENCHES = 1000
KINDS = ("capacitive", "inductive")
STATES = (NOTHING_DECLARED, ALL_KNOWN)
# What looks before the last may add on one side: one chance in 20 000 each
SPENT = (SWEEPS - FIRST_LOOK) * (1.0 - EARLY_COVERAGE) / 2.0


@cache
def found(state: State, kind: str) -> dict[str, Looks]:
    return looks(state, draw_benches(range(BENCHES)), kind, EARLY_COVERAGE, seed=11)


def wrong(ends: Ended, one: Decision) -> tuple[int, int, int]:
    """Count that decision, which is wrong, by the whole run, early, and only early."""
    pairs = list(zip(ends.whole, ends.early, strict=True))
    only = sum(early is one is not whole for whole, early in pairs)
    return ends.whole.count(one), ends.early.count(one), only


@pytest.mark.long
@pytest.mark.parametrize("state", STATES, ids=lambda state: state.name)
@pytest.mark.parametrize("accepted", [True, False])
def test_at_the_limit_no_more_is_accepted_or_rejected_wrongly_than_by_all_sweeps(
    state: State, accepted: bool
) -> None:
    # The truth just beyond the limit is the worst case of either error
    beyond = 1e-6 if accepted else -1e-6
    decided = Decision.CONFORMS if accepted else Decision.DOES_NOT_CONFORM
    whole = early = only = runs = 0
    for kind in KINDS:
        for name in FIGURES:
            one = found(state, kind)[name]
            counts = wrong(ended(one, one.truth + beyond), decided)
            whole, early, only = (
                a + b for a, b in zip((whole, early, only), counts, strict=True)
            )
            runs += BENCHES

    # Looks at ordinary intervals add dozens, see below
    assert only <= binom.ppf(1.0 - 1e-3, runs, SPENT)
    assert early <= whole + binom.ppf(1.0 - 1e-3, runs, SPENT)
    assert early <= binom.ppf(1.0 - 1e-3, runs, 0.025)


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.name)
def test_over_parts_near_and_far_errors_are_not_above_those_of_all_sweeps(
    state: State,
) -> None:
    rng = np.random.default_rng(5)
    errors = {"whole": 0, "early": 0}
    taken: list[int] = []
    runs = 0
    for kind in KINDS:
        for name in FIGURES:
            one = found(state, kind)[name]
            # Evenly from four expanded uncertainties on one side to four on the other
            off = rng.uniform(-4.0, 4.0, BENCHES) * one.expanded
            ends = ended(one, one.truth + off)
            for bad, w, e in zip(off > 0.0, ends.whole, ends.early, strict=True):
                is_wrong = Decision.CONFORMS if bad else Decision.DOES_NOT_CONFORM
                errors["whole"] += w is is_wrong
                errors["early"] += e is is_wrong
            taken += ends.sweeps
            runs += BENCHES

    assert errors["early"] <= errors["whole"] + binom.ppf(1 - 1e-3, runs, SPENT)
    assert errors["early"] <= binom.ppf(1.0 - 1e-3, runs, 0.025)
    # And some end early, though few are clear where the scatter is all there is
    assert min(taken) < SWEEPS


@pytest.mark.long
def test_looks_at_ordinary_intervals_would_accept_more_wrongly() -> None:
    only = 0
    for kind in KINDS:
        every = looks(ALL_KNOWN, draw_benches(range(BENCHES)), kind, 0.95, seed=11)
        for one in every.values():
            only += wrong(ended(one, one.truth + 1e-6), Decision.CONFORMS)[2]

    assert only > 10 * binom.ppf(1.0 - 1e-3, 2 * len(KINDS) * BENCHES, SPENT)


@pytest.mark.parametrize("kind", KINDS)
def test_a_part_that_is_clear_of_its_limit_is_decided_at_the_first_look(
    kind: str,
) -> None:
    one = found(NOTHING_DECLARED, kind)["operate"]

    # 10 % of the operate distance away, as a part at its rated distance has it
    ends = ended(one, 0.9 * one.truth)

    assert np.mean(np.array(ends.sweeps) == FIRST_LOOK) > 0.99
    assert set(ends.early) == {Decision.CONFORMS}
