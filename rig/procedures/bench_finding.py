"""What a bench check says of one thing; plain data, so that screens load no check."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Fitness(StrEnum):
    """What a check says of one thing."""

    FIT = "fit"
    UNPROVEN = "unproven"
    UNFIT = "unfit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One line of a bench check.

    Attributes:
        subject: What was looked at.
        fitness: Whether it is fit for measuring.
        sentence: What was found, with unit and uncertainty where it is a figure.
    """

    subject: str
    fitness: Fitness
    sentence: str
