"""Nested and unbalanced studies against statsmodels and the crossed study."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from rig.analysis.numbers.restricted_likelihood import likelihood_fit
from rig.analysis.study.component_study import Design, component_study
from rig.analysis.study.measurement_system import crossed_study
from rig.errors import InputError


def unbalanced(seed: int, *, nested: bool = False) -> pd.DataFrame:
    """Readings of 10 parts by 4 appraisers, none to four a cell."""
    rng = np.random.default_rng(seed)
    offsets, own = rng.normal(0.0, 1.0, 4), rng.normal(0.0, 0.7, (10, 4))
    levels = rng.normal(0.0, 2.0, (10, 4 if nested else 1)) + np.zeros((10, 4))
    rows = [
        (f"p{i}", f"a{j}", 100.0 + levels[i, j] + offsets[j] + own[i, j] + error)
        for i in range(10)
        for j in range(4)
        for error in rng.normal(0.0, 0.5, rng.integers(0, 5))
    ]
    table = pd.DataFrame(rows, columns=["part", "appraiser", "y"])
    table["cell"] = table.part + table.appraiser
    table["whole"] = 1
    return table


def by_statsmodels(table: pd.DataFrame, *effects: str) -> sm.regression.MixedLM:
    formulas = {name: f"0 + C({name})" for name in effects}
    model = sm.MixedLM.from_formula(
        "y ~ 1", table, groups="whole", re_formula="0", vc_formula=formulas
    )
    with warnings.catch_warnings():
        # It tells of variances at 0, which are right here
        warnings.simplefilter("ignore")
        return model.fit(reml=True)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
@pytest.mark.parametrize("nested", [False, True])
def test_variances_are_those_of_statsmodels(seed: int, nested: bool) -> None:
    table = unbalanced(seed, nested=nested)
    found = component_study(
        list(table.part), list(table.appraiser), table.y.to_numpy(), nested=nested
    )
    names = ("appraiser", "cell") if nested else ("appraiser", "cell", "part")
    beside = by_statsmodels(table, *names)
    theirs = dict(zip(names, beside.vcomp, strict=True))
    ours = found.components
    cell = "part within appraiser" if nested else "part x appraiser"

    # Theirs stops where the likelihood has become flat
    assert ours["repeatability"] == pytest.approx(beside.scale, rel=0.02)
    assert ours[cell] == pytest.approx(theirs["cell"], rel=0.04, abs=1e-3)
    assert ours["appraiser"] == pytest.approx(theirs["appraiser"], rel=0.1, abs=2e-3)
    if not nested:
        assert ours["part"] == pytest.approx(theirs["part"], rel=0.04, abs=1e-3)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_no_likelihood_of_statsmodels_is_higher(seed: int) -> None:
    table = unbalanced(seed)
    effects = [pd.get_dummies(table[n]).to_numpy(float) for n in ("appraiser", "cell")]
    ours = likelihood_fit(table.y.to_numpy(), effects)
    constant = 0.5 * (len(table) - 1) * math.log(2.0 * math.pi)

    beside = by_statsmodels(table, "appraiser", "cell")

    assert ours.log_likelihood - constant >= beside.llf - 1e-6
    assert ours.log_likelihood - constant == pytest.approx(beside.llf, abs=0.01)
    assert ours.mean == pytest.approx(beside.fe_params.iloc[0], abs=0.01)


def test_a_balanced_crossed_study_has_the_components_of_its_analysis_of_variance() -> (
    None
):
    rng = np.random.default_rng(7)
    block = (
        rng.normal(0.0, 2.0, (8, 1, 1))
        + rng.normal(0.0, 1.5, (1, 4, 1))
        + rng.normal(0.0, 1.0, (8, 4, 1))
        + rng.normal(0.0, 0.5, (8, 4, 3))
    )
    crossed = crossed_study(block)
    places = list(np.ndindex(block.shape))
    found = component_study(
        [f"p{p}" for p, _, _ in places], [f"a{a}" for _, a, _ in places], block.ravel()
    )

    assert not crossed.pooled
    assert found.design is Design.CROSSED
    assert found.balanced
    assert found.components["part"] == pytest.approx(crossed.components["part"])
    assert found.components["appraiser"] == pytest.approx(
        crossed.components["appraiser"]
    )
    assert found.components["part x appraiser"] == pytest.approx(
        crossed.components["interaction"]
    )
    for row, beside in zip(found.rows, crossed.full, strict=False):
        assert row.sum_of_squares == pytest.approx(beside.sum_of_squares)
        assert row.effective_degrees_of_freedom == pytest.approx(
            beside.degrees_of_freedom
        )


def test_order_and_a_large_offset_change_nothing() -> None:
    table = unbalanced(5)
    other = table.sample(frac=1.0, random_state=2)

    found = component_study(list(table.part), list(table.appraiser), table.y.to_numpy())
    again = component_study(
        list(other.part), list(other.appraiser), other.y.to_numpy() + 1e6
    )

    for name, value in found.components.items():
        assert again.components[name] == pytest.approx(value, rel=1e-5, abs=1e-9)
    assert again.mean - 1e6 == pytest.approx(found.mean, abs=1e-6)


def test_parts_that_one_appraiser_each_has_read_are_nested_without_being_told() -> None:
    parts = ["1", "1", "2", "2", "3", "3", "4", "4"]
    appraisers = ["A"] * 4 + ["B"] * 4
    readings = [8.0, 8.1, 8.4, 8.6, 7.9, 7.7, 8.2, 8.3]

    found = component_study(parts, appraisers, readings)

    assert found.design is Design.NESTED
    assert found.parts == 4
    assert "interaction cannot be told" in found.statements[0]


def test_without_a_repeat_the_interaction_counts_as_repeatability_and_it_says_so() -> (
    None
):
    rng = np.random.default_rng(3)
    cells = [(f"p{p}", f"a{a}") for p in range(6) for a in range(3)]
    parts, appraisers = zip(*cells, strict=True)

    found = component_study(parts, appraisers, rng.normal(8.0, 0.1, 18))

    assert "part x appraiser" not in found.components
    assert "counts as repeatability" in found.statements[0]


@pytest.mark.parametrize(
    ("parts", "appraisers", "readings", "words"),
    [
        ("1111", "AABB", (1, 2, 3, 4), "the study has 1 part"),
        ("1122", "AAAA", (1, 2, 3, 4), "the study has 1 appraiser"),
        ("1234", "AABB", (1, 2, 3, 4), "no part was read twice"),
        ("11221122", "AAAABBBB", (1, 1, 2, 2, 3, 3, 4, 4), "all trials read alike"),
        ("112", "AAB", (1, 2, 3), "at least 4 needed"),
    ],
)
def test_readings_that_show_no_components_are_refused(
    parts: str, appraisers: str, readings: tuple[float, ...], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        component_study(list(parts), list(appraisers), readings)
