"""Controllers under test behind one seam, in lock-step: time passes only in `advance`.

`host_core` runs the C core as a shared library, `avr_image` the image for the
ATmega328P in a simulator. Both are on a simulated bench whose truth can be read.
"""

from __future__ import annotations

from firmware_protocol.conformance.controllers.bench import (
    Bench,
    BenchError,
    EdgeTruth,
    StartCause,
    Value,
)

__all__ = ["Bench", "BenchError", "EdgeTruth", "StartCause", "Value"]
