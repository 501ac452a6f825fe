"""The lock of exact versions holds all that is asked for, with hashes and no place.

Requirements and markers are read by `packaging`, hashes are those of pip's
"hash-checking mode" (its manual, "Secure installs").
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
_LOCK = (ROOT / ".ci" / "requirements.lock").read_text("utf-8")
_LINES = _LOCK.replace("\\\n", " ").splitlines()
LOCKED = [line for line in _LINES if line and not line.lstrip().startswith("#")]


def pinned() -> dict[str, list[Requirement]]:
    found: dict[str, list[Requirement]] = {}
    for line in LOCKED:
        one = Requirement(line.partition(" --hash")[0])
        found.setdefault(canonicalize_name(one.name), []).append(one)
    return found


def asked_for() -> list[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    return sorted({*project["dependencies"], *(one for each in extras for one in each)})


@pytest.mark.parametrize("wanted", asked_for())
def test_what_is_asked_for_is_locked_to_a_version_that_does(wanted: str) -> None:
    asked = Requirement(wanted)

    locked = pinned().get(canonicalize_name(asked.name), [])

    assert locked, "not in the lock: make it anew as DEVELOPERS.md says"
    for one in locked:
        (version,) = one.specifier
        assert version.operator == "=="
        assert asked.specifier.contains(version.version, prereleases=True)


def test_every_version_has_its_hashes_and_none_a_place() -> None:
    assert len(LOCKED) > len(asked_for())
    for line in LOCKED:
        hashes = re.findall(r"--hash=sha256:[0-9a-f]{64}(?= |$)", line)
        assert hashes, line
    for line in _LINES:
        assert not re.search(r"://|--(extra-)?index|--find-links| @ | /", line), line
