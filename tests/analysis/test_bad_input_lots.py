"""Bad input to studies, lots and the class gets one clear sentence as well."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from rig.analysis.acceptance.attributes import (
    Severity,
    attribute_plan,
    code_letter,
    decide_lot,
    single_stage,
)
from rig.analysis.acceptance.operating_curve import (
    acceptance_binomial,
    acceptance_hypergeometric,
)
from rig.analysis.acceptance.sequential import guidance
from rig.analysis.acceptance.staged_curve import (
    chances_of_lot,
    chances_of_process,
    operating_curve,
)
from rig.analysis.acceptance.switching_rules import (
    SwitchingState,
    resume,
    state_from_record,
)
from rig.analysis.acceptance.variables import (
    decide_lot_by_variables,
    estimated_share,
)
from rig.analysis.acceptance.variables_plan import (
    variables_plan,
    variables_plan_of_lot,
)
from rig.analysis.classroom.hand_comparison import compare_by_hand, growth_of_knowledge
from rig.analysis.classroom.predicted_curve import predicted_mm, read_curve
from rig.analysis.limits.verdict import Limits
from rig.analysis.numbers.uncertainty import figure
from rig.analysis.study.measurement_system import crossed_study
from rig.analysis.study.study_layout import (
    FilledRow,
    SheetRow,
    layout_rows,
    readings_of_sheet,
)
from rig.analysis.study.study_results import average_and_range
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure

MM = Limits(lower=7.2, upper=8.8, unit="mm", source="made up")
PLAN = attribute_plan(1000, aql_percent=1.0)
CURVE = "relative_permittivity,operate_mm\n2,1\n4,2\n"


def fig(value: float = 8.0, unit: str = "mm", u: float = 0.001) -> Figure:
    line = Contribution(
        name="zero", evaluation=Evaluation.TYPE_B, standard_uncertainty=u, unit=unit
    )
    return figure(value, unit, [line], n=10, standard_deviation=0.01)


def bare(value: float = 8.0) -> Figure:
    return figure(value, "mm", [], n=1, why_none="one sweep")


def row(
    part: str, appraiser: str, trial: int, reading: object, unit: str = "mm"
) -> FilledRow:
    return FilledRow(
        row=SheetRow(order=1, trial=trial, appraiser=appraiser, part=part),
        reading=reading,
        unit=unit,
    )


def full_sheet() -> list[FilledRow]:
    return [
        row(p, a, t, i)
        for i, (p, a, t) in enumerate(
            (p, a, t) for p in "pq" for a in "ab" for t in (1, 2)
        )
    ]


# What is wrong, words that the sentence has to hold
CASES: dict[str, tuple[Callable[[], object], tuple[str, ...]]] = {
    # Study
    "one trial": (
        lambda: crossed_study([[[1.0], [2.0]], [[1.0], [2.0]]]),
        ("1 trial",),
    ),
    "one part, study": (lambda: crossed_study([[[1, 2], [2, 1]]]), ("1 part",)),
    "one appraiser": (lambda: crossed_study([[[1, 2]], [[2, 1]]]), ("1 appraiser",)),
    "unbalanced block": (
        lambda: crossed_study([[[1, 2], [2]], [[2, 1], [1, 2]]]),
        ("rows differ",),
    ),
    "text in the study": (
        lambda: crossed_study([[[1, 2], [2, "?"]], [[2, 1], [1, 2]]]),
        ("layer 1, row 2, reading 2", "'?'"),
    ),
    "no scatter": (lambda: average_and_range(np.ones((2, 2, 2))), ("resolution",)),
    "sheet of one part": (
        lambda: layout_rows(["a"], ["x", "y"], 2, seed=1),
        ("1 of the parts",),
    ),
    "sheet of one trial": (
        lambda: layout_rows(["a", "b"], ["x", "y"], 1, seed=1),
        ("1 trial",),
    ),
    "empty sheet": (lambda: readings_of_sheet([]), ("no readings",)),
    "sheet with a gap": (
        lambda: readings_of_sheet(full_sheet()[:-1]),
        ("not balanced", "part q, appraiser b, trial 2"),
    ),
    "sheet filled twice": (
        lambda: readings_of_sheet([*full_sheet(), row("p", "a", 1, 1.0)]),
        ("part p, appraiser a, trial 1", "twice"),
    ),
    "sheet with text": (
        lambda: readings_of_sheet([*full_sheet()[:-1], row("q", "b", 2, "n/a")]),
        ("part q, appraiser b, trial 2", "'n/a'"),
    ),
    "sheet with an empty cell": (
        lambda: readings_of_sheet([*full_sheet()[:-1], row("q", "b", 2, "")]),
        ("part q, appraiser b, trial 2", "empty"),
    ),
    "sheet in two units": (
        lambda: readings_of_sheet([*full_sheet()[:-1], row("q", "b", 2, 1.0, "µm")]),
        ("mixed", "mm, µm"),
    ),
    # Acceptance
    "lot of one": (lambda: code_letter(1), ("lot of 1",)),
    "unknown level": (lambda: code_letter(100, "IV"), ("'IV'",)),
    "unknown AQL": (lambda: attribute_plan(100, aql_percent=3.0), ("3 %",)),
    "lot smaller than what was inspected": (
        lambda: decide_lot(
            attribute_plan(50, aql_percent=1.0), nonconforming=0, inspected=80
        ),
        ("80", "lot of 50"),
    ),
    "sample not complete": (
        lambda: decide_lot(PLAN, nonconforming=0, inspected=10),
        ("10 of 80", "complete"),
    ),
    "lot smaller than the sample": (
        lambda: acceptance_hypergeometric(1, 50, 80, 2),
        ("lot of 50", "sample of 80"),
    ),
    "share that is text": (
        lambda: acceptance_binomial([0.01, "n/a"], 80, 2),
        ("reading 2", "'n/a'"),
    ),
    "share in per cent": (
        lambda: chances_of_process([1.5], single_stage(80, 2)),
        ("not from 0 to 1",),
    ),
    "half a bad part": (
        lambda: chances_of_lot([1.5], single_stage(80, 2), lot=100),
        ("whole numbers from 0 to 100",),
    ),
    "more bad parts than parts": (
        lambda: chances_of_lot([101], single_stage(80, 2), lot=100),
        ("whole numbers from 0 to 100",),
    ),
    "curve for too small a lot": (
        lambda: operating_curve(single_stage(80, 2), lot=50),
        ("lot of 50", "sample of 80"),
    ),
    "no plan": (lambda: operating_curve(single_stage(10, 10)), ("10",)),
    "s method, sample not in the table": (
        lambda: variables_plan(12, aql_percent=1.0),
        ("12",),
    ),
    "s method, AQL not in the table": (
        lambda: variables_plan(10, aql_percent=3.0),
        ("3 %",),
    ),
    "s method, reduced": (
        lambda: variables_plan(10, aql_percent=1.0, severity=Severity.REDUCED),
        ("reduced", "by variables"),
    ),
    "s method, level without letters": (
        lambda: variables_plan_of_lot(100, aql_percent=1.0, level="S-1"),
        ("'S-1'",),
    ),
    "s method, lot of one": (
        lambda: variables_plan_of_lot(1, aql_percent=1.0),
        ("lot of 1",),
    ),
    "s method, values without uncertainty": (
        lambda: decide_lot_by_variables(
            [8.0, 8.1, 8.0, 8.1, 8.2], MM, variables_plan(5, aql_percent=1.0), lot=90
        ),
        ("no uncertainty", "guarded rule"),
    ),
    "s method, too few uncertainties": (
        lambda: decide_lot_by_variables(
            [8.0, 8.1, 8.0, 8.1, 8.2],
            MM,
            variables_plan(5, aql_percent=1.0),
            lot=90,
            expanded=[0.1, 0.1],
        ),
        ("2 uncertainties", "5 values"),
    ),
    "s method, uncertainty below 0": (
        lambda: decide_lot_by_variables(
            [8.0, 8.1, 8.0, 8.1, 8.2],
            MM,
            variables_plan(5, aql_percent=1.0),
            lot=90,
            expanded=[0.1, 0.1, -0.1, 0.1, 0.1],
        ),
        ("below 0",),
    ),
    "s method, sample not complete": (
        lambda: decide_lot_by_variables(
            [8.0, 8.1], MM, variables_plan(5, aql_percent=1.0), lot=100
        ),
        ("2 parts", "5"),
    ),
    "s method, lot too small": (
        lambda: decide_lot_by_variables(
            [8.0, 8.1, 8.0, 8.1, 8.2], MM, variables_plan(5, aql_percent=1.0), lot=4
        ),
        ("lot of 4", "sample of 5"),
    ),
    "share from two parts": (lambda: estimated_share(1.0, 2), ("2 parts",)),
    "more measured than the lot": (
        lambda: guidance(PLAN, measured=1001, nonconforming=0),
        ("1001", "lot of 1000"),
    ),
    "more failed than measured": (
        lambda: guidance(PLAN, measured=3, nonconforming=2, undecided=2),
        ("of 3",),
    ),
    "resume without a stop": (
        lambda: resume(SwitchingState(), "x"),
        ("not discontinued",),
    ),
    "state without a field": (lambda: state_from_record({}), ("severity",)),
    # Classroom
    "nobody read": (lambda: compare_by_hand({}, fig()), ("no readings",)),
    "read once": (
        lambda: compare_by_hand({"group 1": [8.0]}, fig()),
        ("group 1", "1 given"),
    ),
    "rig without uncertainty": (
        lambda: compare_by_hand({"group 1": [8.0, 8.5]}, bare()),
        ("one sweep",),
    ),
    "growth of one": (lambda: growth_of_knowledge([1.0]), ("1 given",)),
    "another header": (
        lambda: read_curve("eps,mm\n1,2\n", "curve.csv"),
        ("curve.csv", "'eps,mm'"),
    ),
    "text in the curve": (
        lambda: read_curve(CURVE + "8,x\n", "curve.csv"),
        ("curve.csv, line 4", "'x'"),
    ),
    "curve falls": (
        lambda: read_curve(CURVE + "3,1\n", "curve.csv"),
        ("rise",),
    ),
    "outside the curve": (
        lambda: predicted_mm(read_curve(CURVE, "curve.csv"), 80.0),
        ("80", "2 to 4"),
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_one_sentence_says_what_and_where(name: str) -> None:
    call, words = CASES[name]

    with pytest.raises(InputError) as caught:
        call()

    sentence = str(caught.value)
    assert "\n" not in sentence
    assert len(sentence) < 200
    assert caught.value.hint
    for word in words:
        assert word in sentence
