"""What the firmware's tests need to be built; CI must have all of it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable

import pytest


@pytest.fixture(scope="session")
def needs() -> Callable[..., None]:
    """Return a function that ends a test in one line where a program is missing."""

    def check(*programs: str) -> None:
        missing = [program for program in programs if shutil.which(program) is None]
        if not missing:
            return
        reason = f"not installed: {', '.join(missing)}"
        if os.environ.get("CI"):
            pytest.fail(reason, pytrace=False)
        pytest.skip(reason)

    return check
