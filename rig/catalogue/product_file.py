"""Product specifications from a file, by the end of its name."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from rig.catalogue.input_file import read_text
from rig.catalogue.product_entry import ProductEntry
from rig.catalogue.product_table import products_of_table
from rig.catalogue.toml_input import Strict, parse
from rig.errors import InputError
from rig.model.product import ProductSpecification


def _named_once(entries: tuple[ProductEntry, ...]) -> tuple[ProductEntry, ...]:
    numbers: dict[str, int] = {}
    for index, entry in enumerate(entries):
        first = numbers.setdefault(entry.name, index + 1)
        if first != index + 1:
            raise PydanticCustomError(
                "named_twice",
                "number {first} has this name already, and each must have its own",
                {"first": first, "place": (index, "name")},
            )
    return entries


class _ProductFile(Strict):
    product: Annotated[
        tuple[ProductEntry, ...], Field(min_length=1), AfterValidator(_named_once)
    ]


def load_products(path: Path) -> tuple[ProductSpecification, ...]:
    """Read product specifications from a file.

    Args:
        path: TOML with a `[[product]]` table for each, or a table with a row for each,
            CSV or .xlsx, by the end of its name.

    Raises:
        InputError: It is not there or not right; names file, line and field. All cells
            of a table that are not right are told at once.
    """
    if path.suffix.lower() == ".toml":
        entries: Sequence[ProductEntry] = parse(
            read_text(path), str(path), _ProductFile
        ).product
    elif path.suffix.lower() in (".csv", ".xlsx"):
        entries = products_of_table(path)
    else:
        raise InputError(
            f"{path} is neither .toml, .csv nor .xlsx", hint="save it as one of these"
        )
    return tuple(entry.specification() for entry in entries)
