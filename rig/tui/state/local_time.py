"""Times as the clock on the wall shows them, beside UTC, which is what is on record."""

from __future__ import annotations

import re
from datetime import UTC, datetime

_ON_RECORD = re.compile(r"(\d{4}-\d\d-\d\d \d\d:\d\d)(:\d\d)? UTC")


def local_time(moment: datetime) -> str:
    """Write a time to the minute, with UTC in brackets where the wall differs from it.

    Args:
        moment: The time; one without a zone is taken as UTC.
    """
    at = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
    here, there = at.astimezone(), at.astimezone(UTC)
    if not here.utcoffset():
        return f"{there:%Y-%m-%d %H:%M} UTC"
    other_day = "" if here.date() == there.date() else f"{there:%m-%d} "
    return f"{here:%Y-%m-%d %H:%M} ({other_day}{there:%H:%M} UTC)"


def local_cell(moment: datetime) -> str:
    """Write a time for a column whose head ends in "(UTC)": UTC stands in brackets."""
    return local_time(moment).replace(" UTC", "")


def with_local_times(text: str) -> str:
    """Put the local time in the place of every time in UTC of a text, UTC beside it."""
    return _ON_RECORD.sub(_beside, text)


def _beside(found: re.Match[str]) -> str:
    moment = datetime.strptime(found[1], "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
    whole = found[0] if not moment.astimezone().utcoffset() else ""
    return whole or local_time(moment)
