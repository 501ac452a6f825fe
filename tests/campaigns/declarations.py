"""What a person declares of a bench of the population, and what it rests on then."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from rig.analysis.edges.bench_causes import BenchCauses, bench_causes
from rig.analysis.edges.bench_terms import common_names
from rig.analysis.edges.shared_causes import TOUCH_PROBE
from rig.model import bench_items as items
from rig.model.bench_declaration import (
    NOTHING_DECLARED,
    BenchDeclaration,
    BenchKnowledge,
    ValueSource,
    declared_value,
    knowledge_of,
)
from sim.population import ProbeKind, World, draw_world
from tests.campaigns.benches import Benches
from tests.campaigns.edges import TOUCH_MM_S

_ROOM_K = 5.0
# What the maker of a probe would print, not what was drawn: repeatability, offset,
# delay in ms, hysteresis; the rest in um
_OF_PROBE = {
    ProbeKind.CONTACT: (1.0, 6.0, 5.0, 0.6),
    ProbeKind.SWITCH: (2.0, 12.0, 10.0, 4.0),
}
_PROBE_ITEMS = (
    items.PROBE_REPEATABILITY,
    items.PROBE_OFFSET,
    items.PROBE_DELAY,
    items.PROBE_HYSTERESIS,
)


def known_of(world: World, *, classes: bool) -> BenchKnowledge:
    """Return what a run on that bench rests on.

    Args:
        world: The bench; only its classes are looked at, and its lead.
        classes: Whether its owner has the makers' papers and declares what they say.
            Otherwise nothing is declared.
    """
    declared = from_papers(world) if classes else NOTHING_DECLARED
    return knowledge_of(declared, touch_speed_mm_s=TOUCH_MM_S)


def from_papers(world: World) -> BenchDeclaration:
    """Return what the owner of that bench declares who has the makers' papers."""
    numbers = {
        items.LEAD: world.machine.screw_lead_mm,
        items.SPAN: _ROOM_K,
        items.PROBE_PRETRAVEL: 0.0,
        **dict(zip(_PROBE_ITEMS, _OF_PROBE[world.probe], strict=True)),
    }
    return BenchDeclaration(
        screw_class=f"JIS B 1192 {world.grade.value}",
        screw_class_source=ValueSource.MAKER,
        values=tuple(
            declared_value(key, value, ValueSource.MAKER)
            for key, value in numbers.items()
        ),
    )


def causes_of(
    benches: Benches, *, classes: bool, screw: Iterable[bool] | bool
) -> BenchCauses:
    """Return what every bench adds to its distances; arrays of shape (k,).

    Args:
        benches: The benches.
        classes: As of `known_of`.
        screw: Whether the screw's errors count, for all or for each bench.
    """
    each = [screw] * benches.count if isinstance(screw, bool) else list(screw)
    return BenchCauses.from_table(
        np.array(
            [
                bench_causes(known_of(world, classes=classes), screw=counts).table(())
                for world, counts in zip(benches.worlds, each, strict=True)
            ]
        )
    )


def shared_names(*, classes: bool) -> frozenset[str]:
    """Return what two runs on one bench have in common, each with its own touches.

    The face stays where it is, so both datums lie at one place.

    The same on every bench: names tell where a number comes from, not which it is.
    """
    known = known_of(draw_world(0, 0), classes=classes)
    return frozenset(
        {TOUCH_PROBE, *common_names(known, one_datum=False, one_place=True)}
    )
