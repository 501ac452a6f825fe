"""`gapsweep availability`: measured, kept, listed, and decided."""

from __future__ import annotations

import pytest

SHORT = ("--times", "2", "--off", "0.2")
RIG = "sim://?sensor=inductive&seed=4"


def test_a_sensor_that_is_available_in_time_conforms_and_is_listed(gapsweep) -> None:
    done = gapsweep(
        *("availability", "measure", "--rig", RIG, *SHORT),
        *("--part", "P-7", "--operator", "R. Vance", "--json"),
    )
    listed = gapsweep("availability", "list", "--json").document["checks"]
    shown = gapsweep("availability", "list").out

    found = done.document
    assert done.status == 0
    assert found["simulated"] is True
    assert found["temperature_c"] == 20.0
    assert found["decision"] == "conforms"
    assert found["found"]["n"] == 4
    assert 10.0 < found["found"]["delay"]["value"] < 14.0
    assert listed == [
        {k: v for k, v in found.items() if k not in ("document", "format")}
    ]
    assert "P-7" in shown
    assert "SIMULATED" in shown


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("&start_ms=320", "✗ time delay before availability: (3"),
        ("&start_ms=900", "was not as it should be after 2 of 4 switchings"),
        ("&fault=false_pulse:5", "✗ false signal: (5.000 ± 0.060) ms does not conform"),
    ],
)
def test_what_does_not_conform_ends_with_status_1(gapsweep, fault, words) -> None:
    done = gapsweep("availability", "measure", "--rig", RIG + fault, *SHORT)

    assert done.status == 1
    assert words in done.out
    assert "IEC 60947-5-2, from memory" in done.out


def test_nothing_measured_yet_is_said(gapsweep) -> None:
    gapsweep("sweep", "--rig", RIG, "--sweeps", "2")

    assert "No supply was switched yet" in gapsweep("availability", "list").out
