"""Results of the analysis as plain data for `json.dumps`; knows none of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any


def plain(value: Any) -> Any:
    """Return a value as plain data: names as in the code, no infinity, no NaN.

    A limit that is not there is null, as is any number that JSON has no word for.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: plain(getattr(value, field.name)) for field in fields(value)
        }
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, str | bool | int) or value is None:
        return value
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    if hasattr(value, "tolist"):
        # An array or a scalar of numpy, which is not imported for its sake
        return plain(value.tolist())
    if isinstance(value, float | Decimal):
        return float(value) if math.isfinite(value) else None
    raise TypeError(f"{type(value).__name__} has no form as plain data")
