"""Labels for parts: before they are measured, and after."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

from tests.report.test_qr_codes import codes_in

Gapsweep = Callable[..., Any]
Measured = Callable[..., str]


def test_labels_can_be_printed_before_anything_is_on_record(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    outcome = gapsweep("label", " s-1", "S-2", "S-1", "--out", own_place / "new.html")

    assert outcome.status == 0, outcome.err
    page = (own_place / "new.html").read_text("utf-8")
    assert codes_in(page) == ["S-1", "S-2"]
    assert "measured" not in page


def test_a_label_says_what_the_part_is_and_no_verdict(
    gapsweep: Gapsweep, measured: Measured, own_place: Path
) -> None:
    run_id = measured("--part", "S-1")

    outcome = gapsweep("label", "(01)09506000134352(21)s-1", "--out", "labels.html")

    assert outcome.status == 0, outcome.err
    page = unescape((own_place / "labels.html").read_text("utf-8"))
    assert codes_in(page) == ["S-1"]
    assert "level-18 against steel" in page
    day = f"{run_id[:4]}-{run_id[4:6]}-{run_id[6:8]}"
    assert f"measured {day}" in page
    assert "SIMULATED" in page
    assert "conform" not in page
