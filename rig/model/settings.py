"""Speeds and margins of a bench."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSettings:
    """How a bench is driven; the defaults suit a screw of 2 mm lead.

    Attributes:
        coarse_speed_mm_s: Speed for locating and for ways outside the band. 10 mm/s or
            less, so that the switching delay cannot carry the target into the face.
        retreat_speed_mm_s: Speed out of the way of hands once all is measured; nothing
            is met on the way away from the face. The controller's limit counts if it is
            lower.
        search_speed_mm_s: Speed of the first touch, when the face may be anywhere.
        touch_speed_mm_s: Speed of the touches that make the datum.
        acceleration_mm_s2: Acceleration of every ramp.
        settle_s: Rest before the axis turns in a sweep, for what swings to die out.
        face_margin_mm: Smallest gap that a motion outside touch-off may ask for.
        longer_part_mm: Length by which a part may exceed the last of its kind and still
            be met at the search speed, whatever its sensor does: six times what faces
            of one kind in one holder lie apart.
        touches: Number of touches behind a datum and a backlash; the most where parts
            before showed that fewer do.
    """

    coarse_speed_mm_s: float = 10.0
    retreat_speed_mm_s: float = 25.0
    search_speed_mm_s: float = 2.0
    touch_speed_mm_s: float = 0.25
    acceleration_mm_s2: float = 200.0
    settle_s: float = 0.02
    face_margin_mm: float = 0.05
    longer_part_mm: float = 3.0
    touches: int = 5
