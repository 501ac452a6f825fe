"""Where the records of a user are when nobody says so."""

from __future__ import annotations

import os

LOCATION_VARIABLE = "GAPSWEEP_RECORDS"


def default_location() -> str:
    """Return where the records are when nobody says so.

    That is what the environment variable GAPSWEEP_RECORDS says, otherwise
    ``gapsweep.sqlite`` in the folder that the system has for a user's data.
    """
    said = os.environ.get(LOCATION_VARIABLE, "")
    if said:
        return said
    import platformdirs

    return str(
        platformdirs.user_data_path("gapsweep", appauthor=False) / "gapsweep.sqlite"
    )
