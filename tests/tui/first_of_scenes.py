"""Scenes as parameters of a test: the first always runs, the others with the long."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest


def first_of(names: Sequence[str]) -> list[Any]:
    """Mark all but the first as long."""
    first, *others = names
    return [first, *(pytest.param(name, marks=pytest.mark.long) for name in others)]
