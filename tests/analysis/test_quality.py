from __future__ import annotations

import pytest

from rig.analysis.edges.quality import (
    SweepKind,
    classify_sweep,
    operated_level,
    pick_edges,
)
from rig.model.mounted import OutputKind
from rig.model.sweeps import Edge

NO, NC = OutputKind.NORMALLY_OPEN, OutputKind.NORMALLY_CLOSED


def edges(script: str, output: OutputKind = NO) -> tuple[Edge, ...]:
    """Edges from "O" operated, "r" released, "/" where the axis turns round."""
    approaching, made = True, []
    for i, sign in enumerate(script):
        if sign == "/":
            approaching = False
            continue
        level = operated_level(output) is (sign == "O")
        made.append(
            Edge(
                number=i,
                level=level,
                position_steps=i,
                time_us=i,
                approaching=approaching,
            )
        )
    return tuple(made)


@pytest.mark.parametrize("output", [NO, NC])
@pytest.mark.parametrize(
    ("script", "operated_at_start", "kind"),
    [
        ("O/r", False, SweepKind.CLEAN),
        ("OrO/r", False, SweepKind.CHATTER),
        ("O/rOr", False, SweepKind.CHATTER),
        ("O/rOrOr", False, SweepKind.CHATTER),
        ("/", False, SweepKind.NEVER_SWITCHES),
        ("/", True, SweepKind.ON_AT_FAR_END),
        ("/r", True, SweepKind.ON_AT_FAR_END),
        ("O/", False, SweepKind.NEVER_RELEASES),
        ("O/rO", False, SweepKind.NEVER_RELEASES),
        ("r/O", True, SweepKind.INVERTED),
        ("rOr/O", True, SweepKind.INVERTED),
        ("Or/", False, SweepKind.OUTPUT_LOST),
        ("/r", False, SweepKind.EDGE_MISSING),
        ("/Or", False, SweepKind.EDGE_MISSING),
    ],
)
def test_every_kind_is_recognised(
    script: str, operated_at_start: bool, kind: SweepKind, output: OutputKind
) -> None:
    level = operated_level(output) is operated_at_start

    quality = classify_sweep(edges(script, output), output=output, level_at_start=level)

    assert quality.kind is kind
    assert quality.sentence.endswith(".")
    assert bool(quality.cause) is (kind is not SweepKind.CLEAN)


def test_normally_closed_sensor_declared_open_is_inverted() -> None:
    quality = classify_sweep(edges("O/r", NC), output=NO, level_at_start=True)

    assert quality.kind is SweepKind.INVERTED
    assert "normally closed" in quality.cause
    assert not quality.usable


def test_chatter_takes_the_first_edge_each_way_and_counts_the_rest() -> None:
    script = edges("OrO/rOr")

    operate, release = pick_edges(script, NO)
    quality = classify_sweep(script, output=NO, level_at_start=False)

    assert (operate, release) == (script[0], script[3])
    assert quality.extra_edges == 4
    assert quality.usable


def test_no_edges_give_no_points() -> None:
    assert pick_edges((), NO) == (None, None)
