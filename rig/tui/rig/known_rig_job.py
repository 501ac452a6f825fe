"""Whether the connected rig is as it is known: looked up, and confirmed by a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, ClassVar

from rig.errors import RecordsError
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import RigChangesStand

if TYPE_CHECKING:
    from rig.tui.rig.rig_access import RigAccess


@dataclass(frozen=True, slots=True, kw_only=True)
class LookUpRig(Job):
    """Tell what of the connected rig is not as it is known."""

    DOING: ClassVar[str] = "looking up what the rig is known as"

    def carry_out(self, access: RigAccess) -> None:
        """Do it; records that cannot be opened are said when something is measured."""
        from rig.procedures.known_rig import unconfirmed_changes
        from rig.records.rig_book import RigBook

        traits = access.rig().mover.traits
        try:
            changes = unconfirmed_changes(RigBook(access.records()), traits)
        except RecordsError:
            return
        access.post(RigChangesStand(rig_id=traits.rig_id, changes=changes))


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmRig(Job):
    """Put on record that the rig is meant to be as it is now.

    Attributes:
        rig_id: Identity of the rig that the person was asked about.
        changes: What that person saw of it.
        person: Who confirms it.
    """

    DOING: ClassVar[str] = "confirming that the rig changed"
    rig_id: str
    changes: tuple[str, ...]
    person: str

    def carry_out(self, access: RigAccess) -> None:
        """Confirm it, if it is still what the person saw."""
        from rig.inquiry.operators import chosen_operator
        from rig.procedures.known_rig import confirm_seen
        from rig.records.rig_book import RigBook

        store, traits = access.records(), access.rig().mover.traits
        confirm_seen(
            RigBook(store),
            traits,
            rig_id=self.rig_id,
            seen=self.changes,
            person=chosen_operator(store, self.person),
            now=datetime.now(UTC),
        )
        access.post(RigChangesStand(rig_id=traits.rig_id, changes=()))


def refuse_changed_rig(access: RigAccess) -> None:
    """Let nothing touch off that is not as it is known.

    Raises:
        RigChanged: Nobody has confirmed how the rig changed.
        RecordsError: The records cannot be read or written.
    """
    from rig.procedures.known_rig import check_known
    from rig.records.rig_book import RigBook

    book, traits = RigBook(access.records()), access.rig().mover.traits
    check_known(book, traits, now=datetime.now(UTC))
