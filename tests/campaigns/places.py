"""One sensor clamped at several places along the axis, on many benches at once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rig.analysis.axis.place_readings import SweptPlace
from rig.analysis.edges.touch import backlash_from_contacts, datum_from_touches
from rig.analysis.numbers.gaps import operate_gap_mm, release_gap_mm
from tests.campaigns.benches import Array, Benches
from tests.campaigns.edges import Mounted, sweep, touch

APART_S = 240.0  # a person clamps, touches off and sweeps
SWEEPS = 6
CLAMPED_MM = 0.15  # how near a person gets to the place, standard deviation
ASKEW_MM = 0.002  # what the holder's seat changes of where the faces meet


def clamped(benches: Benches, faces_mm: Array, rng: np.random.Generator) -> Benches:
    """Return the benches with the face elsewhere; the nut's play stays where it was."""
    worlds = []
    for world, face_mm in zip(benches.worlds, faces_mm.tolist(), strict=True):
        machine = world.machine
        gone_mm = machine.face_mm - face_mm
        machine = replace(
            machine,
            face_mm=face_mm,
            backlash_mm=machine.backlash_mm + machine.backlash_per_mm * gone_mm,
            zero_mm=machine.zero_mm + ASKEW_MM * rng.normal(),
        )
        worlds.append(replace(world, machine=machine))
    return replace(benches, worlds=tuple(worlds))


def swept_places(
    benches: Benches, mounted: Mounted, turns: Array, rng: np.random.Generator
) -> list[list[SweptPlace]]:
    """Return what is found at each place, for every bench.

    Args:
        benches: The benches.
        mounted: What is mounted on them.
        turns: Places in turns of the screw toward home from where the face is, in the
            order that they are taken.
        rng: Random numbers.
    """
    lead_mm = benches.of("screw_lead_mm")
    scale = benches.of("steps_per_mm")
    found: list[list[SweptPlace]] = [[] for _ in range(benches.count)]
    for index, turn in enumerate(turns.tolist()):
        wanted = benches.of("face_mm") - turn * lead_mm
        faces = wanted + CLAMPED_MM * rng.normal(size=benches.count)
        there = clamped(benches, faces, rng)
        begins_s = APART_S * index
        touched = touch(there, rng, begins_s=begins_s)
        swept = sweep(there, mounted, touched, SWEEPS, rng, begins_s=begins_s)
        for bench in range(benches.count):
            own = float(scale[bench])
            datum = datum_from_touches(
                touched.closings[bench],
                steps_per_mm=own,
                probe_uncertainty_mm=0.0,
                found_at=None,  # type: ignore[arg-type]  # no clock on the wall here
            )
            backlash = backlash_from_contacts(
                touched.closings[bench], touched.openings[bench], steps_per_mm=own
            )
            at = datum.position_steps
            found[bench].append(
                SweptPlace(
                    closing_mm=at / own,
                    opening_mm=at / own - backlash.value_mm,
                    closing_uncertainty_mm=datum.standard_uncertainty_mm,
                    backlash_uncertainty_mm=backlash.standard_uncertainty_mm,
                    touches=datum.n,
                    operate_mm=operate_gap_mm(
                        swept.operate[bench], datum_steps=at, steps_per_mm=own
                    ),
                    release_mm=release_gap_mm(
                        swept.release[bench],
                        datum_steps=at,
                        steps_per_mm=own,
                        backlash_mm=backlash.value_mm,
                    ),
                    speeds_mm_s=swept.speeds_mm_s,
                    time_s=float(swept.time_s[bench].mean()),
                )
            )
    return found
