"""Files that commands write, whole or not at all, as those of the screens."""

from __future__ import annotations

from rig.report.files import write_whole

__all__ = ["write_whole"]
