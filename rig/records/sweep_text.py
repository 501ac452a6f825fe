"""A sweep with its edges, as the text that its link in the chain is taken of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from rig.records.chain import Link, text_digest
from rig.records.row_text import row_text_of
from rig.records.schema import edges, sweeps


def sweep_link(row: Mapping[str, Any], edge_texts: Iterable[str]) -> Link:
    """Return the link of a sweep.

    Args:
        row: Row of `sweeps`.
        edge_texts: Texts of its rows of `edges`, in order.
    """
    text = "\n".join((row_text_of(sweeps).of_row(row), *edge_texts))
    return Link(
        kind=sweeps.name,
        subject=row["run_id"],
        place=row["sweep_index"],
        digest=text_digest(text),
    )


def edge_text(row: Mapping[str, Any]) -> str:
    """Return the text of a row of `edges`."""
    return row_text_of(edges).of_row(row)
