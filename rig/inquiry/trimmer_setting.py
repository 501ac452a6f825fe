"""Which setting of the trimmer a run or a reading of a lesson belongs to.

It stands in a label of its own on record; what people write in a note is theirs.
"""

from __future__ import annotations

from typing import Final

from rig.model.sweeps import RunHeader

AS_IT_CAME: Final = ""
BEFORE: Final = "trimmer: before"  # as it came too, and to be compared with the next
TURNED: Final = "trimmer: after"


def setting_of(header: RunHeader) -> str:
    """Return AS_IT_CAME or TURNED for a run."""
    return TURNED if header.label == TURNED else AS_IT_CAME


def setting_words(setting: str) -> str:
    """Say a setting in words."""
    return "trimmer turned" if setting == TURNED else "trimmer as it came"
