"""Product specifications on record: versions and their approvals. Adds only."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Select, func, select

from rig.errors import InputError
from rig.model.grounds import Grounds
from rig.model.product import Approval, ProductSpecification, ProductVersion
from rig.records.chain import insert_chained
from rig.records.decoding import decodes
from rig.records.mapping import (
    StoredRow,
    json_text,
    specification_in,
    time_of,
    time_text,
)
from rig.records.schema_products import product_approvals, product_versions
from rig.records.store import Store
from rig.records.trail import (
    APPROVED,
    ENTERED,
    PRODUCT,
    Change,
    append_change,
    unfolded,
)
from rig.version import SOFTWARE_VERSION


class ProductBook:
    """Product specifications on record.

    Every method raises `RecordsError` when the records cannot be read or written, and
    then has kept nothing.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    def enter(
        self, found: Sequence[ProductSpecification], *, author: str, now: datetime
    ) -> list[ProductVersion]:
        """Put specifications on record, each as the next version; all or none.

        Raises:
            InputError: One is as its last version is, or its name differs from one on
                record by capitals alone.
        """
        entered = []
        with self._store.writing() as connection:
            for one in found:
                _check_spelling(connection, one.name)
                last = _last(connection, one.name)
                if last is not None and last.specification == one:
                    raise InputError(
                        f"{last.title} says the same, so nothing is entered",
                        hint="change what is to be otherwise, or leave it out",
                    )
                version = ProductVersion(
                    version=1 if last is None else last.version + 1,
                    specification=one,
                    entered_by=author,
                    entered_at=now,
                )
                row = _row(version)
                insert_chained(connection, product_versions, row)
                change = Change(
                    kind=PRODUCT,
                    subject=one.name,
                    action=ENTERED,
                    grounds=Grounds(person=author),
                    before=None if last is None else _as_change(_row(last)),
                    after=_as_change(row),
                    at=now,
                )
                append_change(connection, change)
                entered.append(version)
        return entered

    def approve(
        self, name: str, version: int, *, approver: str, now: datetime
    ) -> ProductVersion:
        """Put on record that somebody approves a version.

        Raises:
            InputError: There is no such version, or it is approved already.
        """
        with self._store.writing() as connection:
            query = _joined().where(
                product_versions.c.product == name,
                product_versions.c.version == version,
            )
            row = connection.execute(query).mappings().first()
            if row is None:
                raise InputError(
                    f"there is no version {version} of product {name!r}",
                    hint="`gapsweep product show` lists them",
                )
            found = _version_of(row)
            if found.approval is not None:
                by = found.approval.approved_by
                raise InputError(f"{found.title} was approved by {by} already")
            values = {
                "product": name,
                "version": version,
                "approved_by": approver,
                "approved_at": time_text(now),
                "software_version": SOFTWARE_VERSION,
            }
            insert_chained(connection, product_approvals, values)
            change = Change(
                kind=PRODUCT,
                subject=name,
                action=APPROVED,
                grounds=Grounds(person=approver),
                before=None,
                after={"product": {"product": name, "version": version}},
                at=now,
            )
            append_change(connection, change)
            return _version_of(connection.execute(query).mappings().one())

    def versions(self) -> list[ProductVersion]:
        """Return every version of every product, by name and version."""
        column = product_versions.c
        query = _joined().order_by(column.product, column.version)
        with self._store.reading() as connection:
            return [_version_of(row) for row in connection.execute(query).mappings()]


def _joined() -> Select[Any]:
    versions, approvals = product_versions.c, product_approvals.c
    return select(
        product_versions, approvals.approved_by, approvals.approved_at
    ).outerjoin(
        product_approvals,
        (approvals.product == versions.product)
        & (approvals.version == versions.version),
    )


def _last(connection: Connection, name: str) -> ProductVersion | None:
    column = product_versions.c
    query = (
        _joined().where(column.product == name).order_by(column.version.desc()).limit(1)
    )
    row = connection.execute(query).mappings().first()
    return None if row is None else _version_of(row)


def _check_spelling(connection: Connection, name: str) -> None:
    """Refuse a name that is another's but for capitals: it would be two products."""
    column = product_versions.c
    others = connection.scalars(
        select(column.product)
        .distinct()
        .where(func.lower(column.product) == name.lower(), column.product != name)
    ).all()
    if others:
        raise InputError(
            f"product {name!r} differs from {others[0]!r} on record by capitals alone",
            hint=f"write {others[0]!r}, or give it a name of its own",
        )


def _row(version: ProductVersion) -> dict[str, Any]:
    return {
        "product": version.name,
        "version": version.version,
        "specification": json_text(asdict(version.specification)),
        "entered_by": version.entered_by,
        "entered_at": time_text(version.entered_at),
        "software_version": SOFTWARE_VERSION,
    }


def _as_change(row: Mapping[str, Any]) -> dict[str, Any]:
    return {"product": unfolded(row, "specification")}


@decodes("a product")
def _version_of(row: StoredRow) -> ProductVersion:
    by = row["approved_by"]
    return ProductVersion(
        version=row["version"],
        specification=specification_in(json.loads(row["specification"])),
        entered_by=row["entered_by"],
        entered_at=time_of(row["entered_at"]),
        approval=None
        if by is None
        else Approval(approved_by=by, approved_at=time_of(row["approved_at"])),
    )
