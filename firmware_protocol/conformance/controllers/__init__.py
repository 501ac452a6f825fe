"""Controllers on a simulated bench, in lock-step: time passes only in `advance`.

`avr_image` runs the image for the ATmega328P in a simulator. The truth of the bench can
be read.
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
