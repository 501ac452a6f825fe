"""What is declared of the bench of a rig: put on record, and in force from then on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from rig.errors import RecordsError
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import DeclarationStands

if TYPE_CHECKING:
    from rig.model.bench_declaration import BenchDeclaration
    from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class LookUpDeclaration(Job):
    """Tell whether anything is on record of the bench of the connected rig."""

    DOING: ClassVar[str] = "looking up what is declared of the bench"

    def carry_out(self, access: RigAccess) -> None:
        """Do it; records that cannot be opened are said when something is measured."""
        from rig.inquiry.declared_bench import bench_answered

        rig_id = access.rig().mover.traits.rig_id
        try:
            answered = bench_answered(access.records(), rig_id)
        except RecordsError:
            return
        access.post(DeclarationStands(rig_id=rig_id, answered=answered))


@dataclass(frozen=True, slots=True, kw_only=True)
class DeclareBench(Job):
    """Declare some items, or take them back; the others stay as they are.

    Attributes:
        rig_id: Identity of the rig.
        declaration: What is declared.
        take_back: Keys of items that are assumed again.
        author: Who declares it; may be empty.
    """

    DOING: ClassVar[str] = "putting the declaration on record"
    rig_id: str
    declaration: BenchDeclaration
    take_back: tuple[str, ...] = ()
    author: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Put it on record, and in force."""
        from rig.inquiry.declared_bench import declare_bench

        declare_bench(
            access.records(),
            self.rig_id,
            self.declaration,
            take_back=self.take_back,
            author=self.author,
            now=datetime.now(UTC),
            whole=False,
        )
        _take_into_use(access, self.rig_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportBench(Job):
    """Declare a whole bench from a file, in place of all that was declared.

    Attributes:
        rig_id: Identity of the rig.
        path: TOML file.
        author: Who declares it; may be empty.
    """

    DOING: ClassVar[str] = "putting the declaration on record"
    rig_id: str
    path: Path
    author: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Read it, put it on record, and in force."""
        from rig.catalogue.bench_file import load_bench
        from rig.inquiry.declared_bench import declare_bench

        declaration = load_bench(self.path)
        declare_bench(
            access.records(),
            self.rig_id,
            declaration,
            author=self.author,
            now=datetime.now(UTC),
            whole=True,
        )
        _take_into_use(access, self.rig_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class PutOffBench(Job):
    """Put on record that all stays assumed for now.

    Attributes:
        rig_id: Identity of the rig.
        author: Who puts it off; may be empty.
    """

    DOING: ClassVar[str] = "putting on record that all stays assumed"
    rig_id: str
    author: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Put it on record."""
        from rig.inquiry.declared_bench import put_off_bench

        store, now = access.records(), datetime.now(UTC)
        put_off_bench(store, self.rig_id, author=self.author, now=now)
        access.post(DeclarationStands(rig_id=self.rig_id, answered=True))


def _take_into_use(access: RigAccess, rig_id: str) -> None:
    if access.link is not None and access.rig().mover.traits.rig_id == rig_id:
        access.rest_on_declared()
    access.post(DeclarationStands(rig_id=rig_id, answered=True))
