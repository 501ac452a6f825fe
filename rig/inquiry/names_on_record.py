"""What was probably meant by a name that nothing on record has."""

from __future__ import annotations

import difflib
from dataclasses import replace

from rig.model.part_number import one_spelling
from rig.records import Reader, RunFilter

_LIKENESS = 0.7


def nearest_on_record(reader: Reader, wanted: RunFilter) -> str:
    """Return a sentence that offers names near those asked for; empty for none.

    Args:
        reader: Open records.
        wanted: What nothing on record meets; its sensor, target and part are looked at.

    Raises:
        RecordsError: The records cannot be read.
    """
    every = reader.attempts(replace(wanted, sensor=None, target=None, part=None))
    part = None if wanted.part is None else one_spelling(wanted.part)
    known = (
        (wanted.sensor, [one.sensor.name for one in every]),
        (wanted.target, [one.target.name for one in every]),
        (part, [one.part for one in every if one.part]),
    )
    offers = []
    for name, names in known:
        if name is None or name in names:
            continue
        words = sorted(set(names))
        close = difflib.get_close_matches(name, words, n=1, cutoff=_LIKENESS)
        close = close or [one for one in words if sorted(one) == sorted(name)]
        offers += [f" Did you mean {close[0]!r}?"] if close else []
    return "".join(offers)
