"""Declarations of benches for tests: one that is right but for what a test says."""

from __future__ import annotations

from rig.model.bench_declaration import (
    BenchDeclaration,
    ValueSource,
    declared_value,
)

LEAD_MM = 2.0
# By the name after the point; everything is as good as it can be but the touch probe
_RIGHT = {
    "screw.lead_mm": LEAD_MM,
    "screw.periodic_um": 0.0,
    "screw.linear_um_per_mm": 0.0,
    "screw.backlash_change_um": 0.0,
    "probe.repeatability_um": 2.0,
    "probe.offset_um": 0.0,
    "probe.pretravel_um": 0.0,
    "probe.delay_ms": 0.0,
    "probe.hysteresis_um": 0.0,
    "alignment.cosine_deg": 0.0,
    "alignment.tilt_um": 0.0,
    "plate.flatness_um": 0.0,
    "face.flatness_um": 0.0,
    "thermal.expansion_per_k": 11.5,
    "thermal.span_k": 0.0,
    "thermometer.uncertainty_k": 0.0,
}
# Of the two flatnesses, that of the plate
_KEYS = {key.partition(".")[2]: key for key in _RIGHT if key != "face.flatness_um"}


def declared_bench(
    source: ValueSource = ValueSource.CERTIFICATE, **changes: float
) -> BenchDeclaration:
    """Return the declaration of a bench, some of its numbers changed."""
    numbers = _RIGHT | {_KEYS[name]: value for name, value in changes.items()}
    return BenchDeclaration(
        values=tuple(declared_value(k, v, source) for k, v in numbers.items())
    )


# A simulated rig that is finer than an ordinary one, and what is then declared of it
FINE_RIG = {"screw_um": "1", "zero_um": "2", "probe_um": "0.5", "home_um": "0"}
FINE_BENCH = declared_bench(periodic_um=1.0)
