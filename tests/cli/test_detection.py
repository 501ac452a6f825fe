"""Which sensor detects which target, in the JSON, the text, the report and the UI.

The world is the simulated rig: an inductive sensor sees metal and no plastic, a
capacitive one sees both (common practice, no source); faults are named here.
"""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

Gapsweep = Callable[..., Any]


def swept(gapsweep: Gapsweep, sensor: str, target: str, *more: str, **rig: str) -> int:
    options = "&".join(f"{name}={value}" for name, value in rig.items())
    outcome = gapsweep(
        *("sweep", "--rig", f"sim://?{options}", "--sensor", sensor),
        *("--target", target, "--sweeps", 6, *more),
    )
    return int(outcome.status)


def cells(gapsweep: Gapsweep) -> dict[tuple[str, str], dict[str, Any]]:
    found = gapsweep("results", "--detects", "--json").document
    return {(one["sensor"], one["target"]): one for one in found["cells"]}


@pytest.fixture
def measured_pairs(gapsweep: Gapsweep) -> None:
    for target in ("steel", "pvc"):
        swept(gapsweep, "gate-8", target)
        swept(gapsweep, "level-18", target)


@pytest.mark.usefixtures("measured_pairs")
def test_what_an_inductive_sensor_does_not_see_is_a_result(gapsweep: Gapsweep) -> None:
    found = cells(gapsweep)
    words = gapsweep("results", "--detects").out

    assert {pair: one["detection"] for pair, one in found.items()} == {
        ("gate-8", "steel"): "detects",
        ("gate-8", "pvc"): "does not detect",
        ("level-18", "steel"): "detects",
        ("level-18", "pvc"): "detects",
    }
    assert found["gate-8", "pvc"]["operate_mm"] is None
    assert found["level-18", "pvc"]["operate_mm"]["value"] > 0.0
    pvc = next(line for line in words.splitlines() if line.startswith("pvc"))
    assert "✗ does not detect" in pvc
    assert "✓ detects" in pvc
    assert "SIMULATED" in words


def test_parts_that_differ_are_counted_and_a_fault_of_the_bench_tells_nothing(
    gapsweep: Gapsweep,
) -> None:
    swept(gapsweep, "gate-8", "steel", "--part", "A", seed="1")
    swept(gapsweep, "gate-8", "steel", "--part", "B", seed="2")
    swept(gapsweep, "gate-8", "steel", "--part", "B", fault="sensor_dead")
    swept(gapsweep, "gate-8", "steel", "--part", "A", fault="home_broken")
    swept(gapsweep, "gate-8", "aluminium", fault="home_broken")

    found = cells(gapsweep)

    steel, aluminium = found["gate-8", "steel"], found["gate-8", "aluminium"]
    assert steel["detection"] == "parts differ"
    assert (steel["detected"], steel["tried"]) == (1, 2)
    assert (aluminium["detection"], aluminium["outcome"]) == ("no result", "not homed")


def test_a_dead_sensor_is_told_from_a_target_that_it_cannot_see(
    gapsweep: Gapsweep,
) -> None:
    swept(gapsweep, "gate-8", "steel", fault="sensor_dead")
    swept(gapsweep, "gate-8", "pvc", seed="2")

    words = gapsweep("results", "--detects").out.splitlines()

    assert [line.split(maxsplit=1)[1] for line in words[2:4]] == [
        "✗ does not detect (never switches)",
        "✗ does not detect",
    ]


@pytest.mark.long
def test_the_report_of_a_plan_has_the_table(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    plan = own_place / "class.toml"
    plan.write_text(
        'title = "class"\nsweeps = 6\n[[run]]\nsensors = ["gate-8", "level-18"]\n'
        'targets = ["steel", "pvc"]\n',
        "utf-8",
    )
    done = gapsweep("run", plan, "--rig", "sim://?seed=3", "--go-on", "--json")
    assert done.status == 0, done.err

    out = own_place / "class.html"
    plan_id = done.document["plan_id"]
    reported = gapsweep("report", "--plan", plan_id, "--out", out)

    assert reported.status == 0, reported.err
    page = unescape(out.read_text("utf-8"))
    table = page[page.index('class="detects"') :]
    table = table[table.index("<tbody>") : table.index("</table>")]
    assert table.count("✗ does not detect") == 1
    assert table.count("✓ detects ") == 3


def test_nothing_tried_is_said(gapsweep: Gapsweep) -> None:
    swept(gapsweep, "gate-8", "steel")

    outcome = gapsweep("results", "--detects", "--sensor", "level-18")

    assert (outcome.status, outcome.out) == (0, "No runs on record.\n")
