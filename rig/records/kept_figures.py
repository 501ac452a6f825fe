"""Writes figures with the form that their runs share, and reads them back."""

from __future__ import annotations

import hashlib
import json
import struct
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from datetime import datetime
from functools import lru_cache

from sqlalchemy import Connection, func, select

from rig.model.figure_forms import (
    FigureBlock,
    FigureForm,
    LineForm,
    figures_from,
    taken_apart,
)
from rig.model.figures import Evaluation, RunFigures
from rig.records import schema
from rig.records.mapping import json_text, time_text
from rig.records.schema_figures import figure_forms, figure_numbers

_BYTES = 8  # of a number


def add_figures_of_run(
    connection: Connection,
    run_id: str,
    figures: RunFigures,
    *,
    computed_at: datetime,
    software_version: str,
) -> None:
    """Add one computation of a run's figures, inside a transaction."""
    forms, numbers = taken_apart(figures)
    _add(
        connection,
        [_computation(run_id, figures.warnings, figures.analysis_version)],
        {"computed_at": time_text(computed_at), "software_version": software_version},
        {run_id: (_form_id(connection, forms), _packed(numbers))},
    )


def add_figures_of_runs(
    connection: Connection,
    blocks: Sequence[FigureBlock],
    *,
    computed_at: datetime,
    software_version: str,
) -> None:
    """Add a computation for every run of some blocks, inside a transaction.

    Args:
        connection: In a transaction that writes.
        blocks: No run in more than one of them.
        computed_at: When; aware.
        software_version: Version of the software that made them.
    """
    if not blocks:
        return
    numbers_of: dict[str, tuple[int, bytes]] = {}
    rows = []
    for block in blocks:
        form_id = _form_id(connection, block.forms)
        packed = block.numbers.astype("<f8", copy=False).tobytes()
        width = _BYTES * block.numbers.shape[1]
        for place, (run_id, said) in enumerate(
            zip(block.run_ids, block.warnings, strict=True)
        ):
            start = place * width
            numbers_of[run_id] = form_id, packed[start : start + width]
            rows.append(_computation(run_id, said, block.analysis_version))
    _add(
        connection,
        rows,
        {"computed_at": time_text(computed_at), "software_version": software_version},
        numbers_of,
    )


def kept_figures(
    connection: Connection, computation_ids: Sequence[int]
) -> Iterator[tuple[int, str, bytes]]:
    """Yield identity, form and numbers of those computations that are kept so."""
    query = (
        select(
            figure_numbers.c.computation_id,
            figure_forms.c.form,
            figure_numbers.c.numbers,
        )
        .join(figure_forms, figure_forms.c.form_id == figure_numbers.c.form_id)
        .where(figure_numbers.c.computation_id.in_(computation_ids))
    )
    for row in connection.execute(query):
        yield row[0], row[1], row[2]


def figures_of_row(
    form: str, numbers: bytes, warnings: tuple[str, ...], analysis_version: str
) -> RunFigures:
    """Put the figures of one computation together again."""
    count = len(numbers) // _BYTES
    values = struct.unpack(f"<{count}d", numbers)
    return figures_from(_forms_of(form), values, warnings, analysis_version)


def _packed(numbers: Sequence[float]) -> bytes:
    return struct.pack(f"<{len(numbers)}d", *numbers)


def _computation(
    run_id: str, warnings: tuple[str, ...], analysis_version: str
) -> dict[str, str]:
    return {
        "run_id": run_id,
        "warnings": _warnings_text(warnings),
        "analysis_version": analysis_version,
    }


@lru_cache(maxsize=1024)
def _warnings_text(warnings: tuple[str, ...]) -> str:
    return json_text(warnings)


def _add(
    connection: Connection,
    computations: list[dict[str, str]],
    common: dict[str, str],
    numbers_of: dict[str, tuple[int, bytes]],
) -> None:
    """Add computations, then their numbers under the identities that they were given.

    The database gives the identities, so that none is given twice on a server.
    """
    table = schema.computations
    before = connection.scalar(select(func.max(table.c.computation_id))) or 0
    connection.execute(table.insert().values(common), computations)
    added = connection.execute(
        select(table.c.computation_id, table.c.run_id).where(
            table.c.computation_id > before
        )
    ).all()
    rows = [
        {
            "computation_id": computation_id,
            "form_id": numbers_of[run_id][0],
            "numbers": numbers_of[run_id][1],
        }
        for computation_id, run_id in added
        if run_id in numbers_of
    ]
    connection.execute(figure_numbers.insert(), rows)


def _form_id(connection: Connection, forms: tuple[FigureForm, ...]) -> int:
    """Return the identity of a form, which is added if it is not there yet."""
    text = _form_text(forms)
    digest = hashlib.sha256(text.encode()).hexdigest()
    found = connection.scalar(
        select(func.min(figure_forms.c.form_id)).where(figure_forms.c.digest == digest)
    )
    if found is not None:
        return int(found)
    result = connection.execute(figure_forms.insert(), {"digest": digest, "form": text})
    (added,) = result.inserted_primary_key or (0,)
    return int(added)


@lru_cache(maxsize=1024)
def _form_text(forms: tuple[FigureForm, ...]) -> str:
    return json_text([asdict(form) for form in forms])


@lru_cache(maxsize=1024)
def _forms_of(text: str) -> tuple[FigureForm, ...]:
    return tuple(
        FigureForm(
            **row
            | {
                "given": tuple(row["given"]),
                "budget": tuple(
                    LineForm(**line | {"evaluation": Evaluation(line["evaluation"])})
                    for line in row["budget"]
                ),
            }
        )
        for row in json.loads(text)
    )
