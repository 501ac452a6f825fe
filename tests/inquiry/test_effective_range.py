"""Limits of the effective distance for a list of runs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rig.analysis.limits.verdict import Decision
from rig.inquiry.effective_range import effective_range
from tests import builders
from tests.tui.situations import CATALOGUE, HEADER

FIGURES = builders.run_figures()


def test_they_are_a_tenth_of_the_rated_distance_to_either_side() -> None:
    found = effective_range(HEADER, FIGURES)

    # IEC 60947-5-2, 7.2.1.3.1: 0.9 s_n to 1.1 s_n; from memory
    rated_mm = HEADER.sensor.rated_distance_mm
    assert found is not None
    assert found.lower_mm == pytest.approx(0.9 * rated_mm)
    assert found.upper_mm == pytest.approx(1.1 * rated_mm)
    assert found.decision in Decision


def test_another_target_than_the_standard_one_has_none() -> None:
    header = replace(HEADER, target=CATALOGUE.target("pvc"))

    assert effective_range(header, FIGURES) is None
