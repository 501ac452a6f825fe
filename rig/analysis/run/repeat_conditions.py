"""What a repeat accuracy takes, as the standard has it; plain numbers."""

from __future__ import annotations

from typing import Final

LEAST_READINGS: Final = 3  # the range of two is one difference
# 23 +- 5 degC, IEC 60947-5-2, 7.2.1.5, from memory
TEMPERATURE_C: Final = (18.0, 28.0)
