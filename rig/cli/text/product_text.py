"""Product specifications as plain text; rounds nothing."""

from __future__ import annotations

from collections.abc import Sequence

from rig.cli.text.table import table
from rig.sheets.product_sheet import HEAD, NONE_ON_RECORD, ProductSheet


def products_text(sheets: Sequence[ProductSheet]) -> str:
    """Return the list of products."""
    if not sheets:
        return NONE_ON_RECORD
    return table(HEAD, [sheet.row for sheet in sheets])


def versions_text(sheets: Sequence[ProductSheet]) -> str:
    """Return versions one under the other, with all that they specify."""
    return "\n\n".join(map(_version_text, sheets))


def _version_text(sheet: ProductSheet) -> str:
    width = max(len(name) for name, _ in sheet.pairs)
    lines = [f"  {name.ljust(width)}  {words}" for name, words in sheet.pairs]
    return "\n".join([f"{sheet.title}: {sheet.state}", *lines])
