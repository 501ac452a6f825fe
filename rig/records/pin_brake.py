"""How long to wait after wrong PINs. Pure: knows times and no records.

Three in a row are free. After that each wrong one doubles the wait, from a minute up to
a day, so that in a year fewer than 400 PINs can be tried through this software.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

FREE_TRIALS: Final = 3
_FIRST_WAIT: Final = timedelta(minutes=1)
_LONGEST_WAIT: Final = timedelta(days=1)
_MOST_DOUBLINGS: Final = 11  # more than lead to the longest wait


@dataclass(frozen=True, slots=True, kw_only=True)
class PinTrial:
    """One PIN that was tried.

    Attributes:
        accepted: Whether it was right.
        tried_at: When, UTC.
    """

    accepted: bool
    tried_at: datetime


def wrong_in_a_row(trials: Sequence[PinTrial]) -> int:
    """Return how many wrong ones there were since the last right one.

    Args:
        trials: Trials of one operator, oldest first.
    """
    count = 0
    for trial in reversed(trials):
        if trial.accepted:
            break
        count += 1
    return count


def free_again_at(trials: Sequence[PinTrial]) -> datetime | None:
    """Return when the next PIN may be tried; None if it may be at once.

    Args:
        trials: Trials of one operator, oldest first.
    """
    wrong = wrong_in_a_row(trials)
    if wrong < FREE_TRIALS:
        return None
    doublings = min(wrong - FREE_TRIALS, _MOST_DOUBLINGS)
    wait: timedelta = min(_FIRST_WAIT * 2**doublings, _LONGEST_WAIT)
    return trials[-1].tried_at + wait
