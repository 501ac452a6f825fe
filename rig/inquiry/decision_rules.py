"""Decision rules by the names that people give them."""

from __future__ import annotations

from rig.analysis.limits.verdict import RULES, Rule
from rig.errors import InputError


def decision_rule(name: str) -> Rule:
    """Return a decision rule.

    Raises:
        InputError: There is no rule of that name.
    """
    try:
        return RULES[name]
    except KeyError as exc:
        raise InputError(
            f"there is no decision rule {name!r}",
            hint=f"give one of: {', '.join(RULES)}",
        ) from exc
