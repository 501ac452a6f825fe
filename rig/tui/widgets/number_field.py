"""The class that marks fields for numbers; no scanned code is left in one."""

from __future__ import annotations

from typing import Final

NUMBER: Final = "number"
