"""The catalogue that a person uses every day, named in the environment."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Final

CATALOGUE_VARIABLE: Final = "GAPSWEEP_CATALOGUE"


def own_catalogue() -> Path | None:
    """Return the file that the environment names; None if it names none."""
    named = os.environ.get(CATALOGUE_VARIABLE, "")
    return Path(named) if named else None
