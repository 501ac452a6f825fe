"""The difference of two runs of one part: what cancels, and what does not."""

from __future__ import annotations

import numpy as np
import pytest

from rig.analysis.edges.run_difference import difference_of_runs
from rig.analysis.edges.shared_causes import causes_in_common
from rig.analysis.numbers.uncertainty import figure
from rig.errors import InputError
from rig.model.figures import Contribution, Evaluation, Figure
from rig.model.mounted import BacklashSource
from tests import builders

OFFSET = "touch probe, offset"
SCREW = "linear error of the screw"


def line(name: str, u: float, sensitivity: float = 1.0) -> Contribution:
    return Contribution(
        name=name,
        evaluation=Evaluation.TYPE_B,
        standard_uncertainty=u,
        unit="mm",
        sensitivity=sensitivity,
    )


def figure_of(value: float, *budget: Contribution) -> Figure:
    return figure(value, "mm", budget, n=10)


def combined(found: Figure) -> float:
    assert found.expanded_uncertainty is not None
    assert found.coverage_factor is not None
    return found.expanded_uncertainty / found.coverage_factor


def test_the_uncertainty_is_the_scatter_of_the_differences_of_drawn_benches() -> None:
    """One offset and one slope a bench, drawn once for both runs; the rest anew."""
    draw = np.random.default_rng(1)
    offset, slope = draw.normal(0.0, 6.0, 400_000), draw.normal(0.0, 0.4, 400_000)
    anew = draw.normal(0.0, [[2.0], [1.5]], (2, 400_000))
    earlier, later = 8.0, 3.0
    drawn = (offset + slope * later + anew[1]) - (offset + slope * earlier + anew[0])

    found = difference_of_runs(
        figure_of(
            earlier,
            line(f"{OFFSET} (assumed)", 6.0),
            line(f"{SCREW} (assumed)", 0.4, earlier),
            line("repeatability", 2.0),
        ),
        figure_of(
            later,
            line(f"{OFFSET} (assumed)", 6.0),
            line(f"{SCREW} (assumed)", 0.4, later),
            line("repeatability", 1.5),
        ),
        {OFFSET, SCREW},
    )

    assert found.value == later - earlier
    # 400,000 draws: the scatter is known to 0.1 %
    assert combined(found) == pytest.approx(drawn.std(), rel=0.005)


def test_what_is_not_common_counts_twice_though_it_has_one_name() -> None:
    found = difference_of_runs(
        figure_of(1.0, line(f"{OFFSET} (assumed)", 3.0)),
        figure_of(1.5, line(f"{OFFSET} (assumed)", 4.0)),
        (),
    )

    assert combined(found) == pytest.approx(5.0)
    assert {one.name for one in found.budget} == {
        f"{OFFSET} (assumed), later run",
        f"{OFFSET} (assumed), earlier run",
    }


def test_the_better_knowledge_of_one_quantity_holds_for_both_runs() -> None:
    """The offset moved nothing when somebody stated a bound for it."""
    found = difference_of_runs(
        figure_of(1.0, line(f"{OFFSET} (assumed)", 6.0)),
        figure_of(1.5, line(f"{OFFSET} (certificate)", 2.0, 3.0)),
        {OFFSET},
    )

    (left,) = found.budget
    assert (left.name, left.standard_uncertainty) == (f"{OFFSET} (certificate)", 2.0)
    assert left.sensitivity == 2.0
    assert combined(found) == pytest.approx(4.0)


def test_what_enters_a_share_once_more_cancels_under_its_own_name() -> None:
    again = ", in the operate point"
    found = difference_of_runs(
        figure_of(1.0, line("backlash", 3.0, 2.0), line(f"backlash{again}", 3.0, 0.5)),
        figure_of(1.0, line("backlash", 3.0, 2.0), line(f"backlash{again}", 3.0, 0.9)),
        {"backlash"},
    )

    effects = sorted(one.sensitivity * one.standard_uncertainty for one in found.budget)
    assert effects == pytest.approx([0.0, 3.0 * 0.4])


def test_a_figure_without_a_known_scatter_leaves_a_difference_without_one() -> None:
    unknown = figure(1.0, "mm", (), n=1, why_none="there is one sweep")

    found = difference_of_runs(unknown, figure_of(2.0, line("backlash", 1.0)), ())

    assert found.value == 1.0
    assert found.expanded_uncertainty is None
    assert found.why_none == "the earlier run has none: there is one sweep"


def test_units_that_differ_are_refused() -> None:
    share = figure(1.0, "%", [line("repeatability", 1.0)], n=3)

    with pytest.raises(InputError, match="one figure is in mm, the other in %"):
        difference_of_runs(figure_of(1.0, line("backlash", 1.0)), share, ())


class TestCommonCauses:
    def test_two_rigs_have_none(self) -> None:
        other = builders.conditions(rig_id="bench-2")

        assert causes_in_common(builders.conditions(), other) == frozenset()

    def test_the_probe_stays_and_what_a_touch_off_finds_does_not(self) -> None:
        first = builders.conditions()
        second = builders.conditions(datum={"position_steps": 20_001.0})

        found = causes_in_common(first, second)

        assert {OFFSET, "touch probe, delay", SCREW, "flatness of the face"} <= found
        anew = {"touch-off scatter", "touch probe, repeatability", "backlash"}
        assert found.isdisjoint(anew | {"plate out of parallel", "thermal expansion"})

    def test_one_datum_has_what_its_touch_off_found(self) -> None:
        found = causes_in_common(builders.conditions(), builders.conditions())

        assert {"touch-off scatter", "touch probe, repeatability", "backlash"} <= found
        assert "thermal expansion" in found

    def test_a_backlash_that_an_indicator_gave_is_one_quantity(self) -> None:
        stated = {"source": BacklashSource.INDICATOR}
        first = builders.conditions(backlash=stated)
        second = builders.conditions(
            backlash=stated, datum={"position_steps": 20_001.0}
        )

        assert "backlash" in causes_in_common(first, second)
