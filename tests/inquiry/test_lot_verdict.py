"""Every figure that a part was held against is told, with n and what R is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.analysis.limits.verdict import Decision
from rig.analysis.run.run_figures import run_figures
from rig.errors import InputError
from rig.inquiry.lot_terms import LotTerms
from rig.inquiry.lot_verdict import REASON_MARK, RULE_MARK, judge_run, judge_value
from rig.model.mounted import DataSheetLimit
from rig.model.sweeps import Run
from tests.report.kinds import lot_terms, part_run


def by_the_standard() -> LotTerms:
    return replace(lot_terms(), lower=None, upper=None)


def run_of_part(**shares: float) -> Run:
    """A run of a sensor for 4 mm, with upper limits of its data sheet."""
    run = part_run(1)
    sensor = replace(
        run.header.sensor,
        rated_distance_mm=4.0,
        data_sheet_limits=tuple(
            DataSheetLimit(symbol=symbol, lower=None, upper=share)
            for symbol, share in shares.items()
        ),
    )
    return replace(run, header=replace(run.header, sensor=sensor))


def clauses(reason: str) -> list[str]:
    return reason.partition(RULE_MARK)[0].split(REASON_MARK)


def test_each_figure_has_its_n_and_repeat_accuracy_says_which_it_is() -> None:
    run = run_of_part(H=0.5)
    judged = judge_run(by_the_standard(), run, run_figures(run))

    s_r, h, r = clauses(judged.reason)
    assert s_r.startswith("s_r, n = 9: (")
    assert h.startswith("H, n = 9: (")
    assert r.startswith("R short term, not the 8 h test, n = 5: (")
    assert judged.reason.count(RULE_MARK) == 1
    assert list(judged.verdicts) == ["s_r", "H", "R"]


def test_the_figure_that_fails_is_told_first() -> None:
    run = run_of_part(H=0.0001)
    judged = judge_run(by_the_standard(), run, run_figures(run))

    assert judged.decision is Decision.DOES_NOT_CONFORM
    first, *others = clauses(judged.reason)
    assert first.startswith("H, n = 9: (")
    assert "does not conform" in first
    assert len(others) == 2


def test_a_range_of_seconds_decides_about_no_part() -> None:
    # Far beyond the limit of the 8 h test, which it is not
    run = run_of_part(H=0.5, R=0.0001)
    judged = judge_run(by_the_standard(), run, run_figures(run))

    assert judged.decision is Decision.CONFORMS
    *_, last = clauses(judged.reason)
    assert last.startswith("R short term, not the 8 h test, n = 5: (")
    assert "not tested" in last


def test_a_value_from_elsewhere_claims_no_number_of_readings() -> None:
    judged = judge_value(lot_terms(), 4.0, 0.001)

    assert judged.reason.startswith("operate point, value given: (4.0000 ± 0.0010) mm")
    assert "n =" not in judged.reason


@pytest.mark.parametrize("terms", [lot_terms(), by_the_standard()])
def test_a_run_whose_home_switch_moved_decides_nothing(terms: LotTerms) -> None:
    run = replace(run_of_part(H=0.5), home_shift_steps=64)
    figures = run_figures(run)

    with pytest.raises(InputError, match="decides nothing: the home switch moved"):
        judge_run(terms, run, figures)

    within = replace(run, home_shift_steps=-4)
    assert judge_run(terms, within, figures).verdicts
