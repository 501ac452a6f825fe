"""What a part of the campaign has to show, as claims of its report."""

from __future__ import annotations

from tests.benchmarks.registry import Claim


def claim(what: str, wanted: str, found: object, met: bool) -> Claim:
    return Claim(claim=f"{what}: {wanted}", measured=str(found), met=met)


def none_of(what: str, found: int) -> Claim:
    return claim(what, "none", found, found == 0)
