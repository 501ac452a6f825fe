"""Plans of the s method: sample and acceptability constant from the tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from rig.analysis.acceptance.attributes import Severity
from rig.analysis.acceptance.plan_tables import letter_of_size, plan_tables
from rig.errors import InputError

_TABLES = "variables_plans"


@dataclass(frozen=True, slots=True, kw_only=True)
class VariablesPlan:
    """A plan of the s method.

    Attributes
    ----------
    sample : int
        Parts to measure.
    k : float
        Acceptability constant.
    aql_percent : float or None
        Per cent nonconforming; None for a plan of one's own.
    source : str
        Source of k.
    letter : str
        Code letter of the plan; empty for a plan of one's own.
    level : str
        Inspection level that the letter was looked up by; empty where the sample was
        said.
    severity : Severity
        Normal or tightened.
    statements : tuple[str, ...]
        Sentences that go wherever the plan goes.
    """

    sample: int
    k: float
    aql_percent: float | None
    source: str
    letter: str = ""
    level: str = ""
    severity: Severity = Severity.NORMAL
    statements: tuple[str, ...] = ()


@cache
def _rows() -> Mapping[str, tuple[int, tuple[float, ...]]]:
    """Return sample and constants of each letter, in the order of the letters."""
    rows = {}
    for letter, text in plan_tables(_TABLES)["letters"].items():
        sample, *constants = text.split()
        rows[letter] = (int(sample), tuple(map(float, constants)))
    return rows


def variables_plan(
    sample: int, *, aql_percent: float, severity: Severity = Severity.NORMAL
) -> VariablesPlan:
    """Look up the constant of the s method for a sample.

    Parameters
    ----------
    sample : int
        One of the sample sizes of the table.
    aql_percent : float
        One of those of the table.
    severity : Severity
        Normal or tightened.

    Returns
    -------
    VariablesPlan
        Where the table has an arrow, the plan that it leads to, with its larger sample.

    Raises
    ------
    InputError
        If the sample size or the limit is not in the table, or reduced inspection is
        asked for.

    Notes
    -----
    Table B-1 of Z1.9 and MIL-STD-414 (read on a public page as far as
    `variables_plans.toml` says; the standards were not opened). Tightened inspection
    takes the k of the next smaller AQL. The table of reduced plans was not opened and
    is not offered.
    """
    by_sample = {size: letter for letter, (size, _) in _rows().items()}
    if sample not in by_sample:
        raise InputError(
            f"a sample of {sample} is not in the table of the s method",
            hint=f"one of {', '.join(map(str, by_sample))}",
        )
    return _plan(by_sample[sample], "", aql_percent, severity)


def variables_plan_of_lot(
    lot: int,
    *,
    aql_percent: float,
    level: str = "II",
    severity: Severity = Severity.NORMAL,
) -> VariablesPlan:
    """Look up the plan of the s method for a lot.

    Parameters
    ----------
    lot : int
        Parts in the lot, at least 2.
    aql_percent : float
        One of those of the table.
    level : str
        S-3, S-4, I, II or III.
    severity : Severity
        Normal or tightened.

    Returns
    -------
    VariablesPlan
        As for `variables_plan`.

    Raises
    ------
    InputError
        If the lot, the limit or the level is not in the tables, or reduced inspection
        is asked for.

    Notes
    -----
    Code letters: Z1.9-2008, table A-2 (read on a public page that prints it). Those of
    MIL-STD-414 and ISO 3951-1 are others.
    """
    table = plan_tables(_TABLES)["code_letters"]
    if level not in table["levels"]:
        raise InputError(
            f"inspection level {level!r} is not one of the s method",
            hint=f"one of {', '.join(table['levels'])}",
        )
    letter = letter_of_size(lot, table["ranges"], table["levels"].index(level))
    return _plan(letter, level, aql_percent, severity)


def _plan(
    letter: str, level: str, aql_percent: float, severity: Severity
) -> VariablesPlan:
    known = plan_tables(_TABLES)["aql_percent"]
    if aql_percent not in known:
        raise InputError(
            f"an AQL of {aql_percent:g} % is not in the table of the s method",
            hint=f"one of {', '.join(f'{value:g}' for value in known)} %",
        )
    if severity is Severity.REDUCED:
        raise InputError(
            "reduced inspection is not offered by variables: its table was not opened",
            hint="take the normal plan, or inspect by attributes",
        )
    # Rows begin late, where the table has arrows, and all end at the largest AQL
    from_end = len(known) - known.index(aql_percent)
    from_end += severity is Severity.TIGHTENED
    letters = list(_rows())
    to = next(
        one
        for one in letters[letters.index(letter) :]
        if len(_rows()[one][1]) >= from_end
    )
    sample, constants = _rows()[to]
    said: tuple[str, ...] = ()
    if to != letter:
        said = (
            f"the table has an arrow from letter {letter}, n = {_rows()[letter][0]}, to"
            f" letter {to}",
        )
    source = plan_tables(_TABLES)["source"]
    return VariablesPlan(
        sample=sample,
        k=constants[-from_end],
        aql_percent=aql_percent,
        source=f"{source}; letter by {plan_tables(_TABLES)['letters_source']}"
        if level
        else source,
        letter=to,
        level=level,
        severity=severity,
        statements=said,
    )
