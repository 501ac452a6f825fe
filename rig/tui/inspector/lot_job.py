"""What the inspector's screen asks for: lots begun, parts inspected, lots decided."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import ClassVar

from rig.errors import LinkError
from rig.inquiry.lot import LotStanding, standing_of
from rig.inquiry.lot_decision import decide_lot
from rig.inquiry.lot_order import LotOrder, begin_lot
from rig.inquiry.lot_reading import enter_by_sight
from rig.inquiry.lot_signature import sign_lot
from rig.inquiry.lot_withdrawal import withdraw_lot
from rig.model.grounds import NO_GROUNDS, Grounds
from rig.procedures.lot_part import measure_part_of_lot
from rig.procedures.run_order import RunOrder
from rig.records.lot_book import LotBook
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import News


@dataclass(frozen=True, slots=True, kw_only=True)
class LotNews(News):
    """Where a lot stands from now on."""

    standing: LotStanding


@dataclass(frozen=True, slots=True, kw_only=True)
class BeginLot(Job):
    """Put a lot on record."""

    DOING: ClassVar[str] = "putting the lot on record"
    order: LotOrder

    def carry_out(self, access: RigAccess) -> None:
        """Begin it."""
        standing = begin_lot(access.records(), self.order, datetime.now(UTC))
        access.post(LotNews(standing=standing))


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLot(Job):
    """Take a lot up where it stands on record."""

    DOING: ClassVar[str] = "looking the lot up"
    lot_id: str

    def carry_out(self, access: RigAccess) -> None:
        """Look it up."""
        standing = standing_of(LotBook(access.records()), self.lot_id)
        access.post(LotNews(standing=standing))


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectPart(Job):
    """Measure the part that is mounted, judge it and put it on record."""

    DOING: ClassVar[str] = "inspecting the part"
    MOVES: ClassVar[bool] = True
    lot_id: str
    order: RunOrder
    grounds: Grounds = NO_GROUNDS

    def carry_out(self, access: RigAccess) -> None:
        """Touch off, sweep, judge, enter."""
        rig, order = access.rig(), self.order
        access.check_mounted(order.sensor, order.target)
        if rig.simulation is not None:
            rig.simulation.mount(order.sensor, order.target, part=order.part)
        # Another part has its face elsewhere
        access.set_bench(None)
        try:
            bench, entered = measure_part_of_lot(
                access.run_context(), access.records(), self.lot_id, order, self.grounds
            )
        except LinkError:
            # A part that gave no figures may be on record as undecided
            book = LotBook(access.records())
            access.post(LotNews(standing=standing_of(book, self.lot_id)))
            raise
        access.set_bench(bench)
        access.post(LotNews(standing=entered.standing))


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeBySight(Job):
    """Put on record what somebody saw of a part."""

    DOING: ClassVar[str] = "putting the part on record"
    lot_id: str
    part: str
    conforms: bool
    reason: str
    grounds: Grounds = NO_GROUNDS

    def carry_out(self, access: RigAccess) -> None:
        """Enter it."""
        entered = enter_by_sight(
            LotBook(access.records()),
            self.lot_id,
            self.part,
            conforms=self.conforms,
            reason=self.reason,
            now=datetime.now(UTC),
            grounds=self.grounds,
        )
        access.post(LotNews(standing=entered.standing))


@dataclass(frozen=True, slots=True, kw_only=True)
class DecideLot(Job):
    """Decide about a lot, once and for all.

    Attributes:
        lot_id: Identity of the lot.
        count_undecided: Undecided parts count as nonconforming, as was agreed.
        steady: Whether switching to reduced inspection is allowed (production is
            steady).
        person: Who decides; empty for the inspector of the lot.
    """

    DOING: ClassVar[str] = "deciding about the lot"
    lot_id: str
    count_undecided: bool = False
    steady: bool = False
    person: str = ""

    def carry_out(self, access: RigAccess) -> None:
        """Decide it and switch."""
        book = LotBook(access.records())
        decide_lot(
            book,
            self.lot_id,
            now=datetime.now(UTC),
            count_undecided=self.count_undecided,
            steady=self.steady,
            person=self.person,
        )
        access.post(LotNews(standing=standing_of(book, self.lot_id)))


@dataclass(frozen=True, slots=True, kw_only=True)
class WithdrawLot(Job):
    """Withdraw a lot that was begun by mistake."""

    DOING: ClassVar[str] = "withdrawing the lot"
    lot_id: str
    grounds: Grounds

    def carry_out(self, access: RigAccess) -> None:
        """Put the withdrawal on record."""
        book = LotBook(access.records())
        now = datetime.now(UTC)
        standing = withdraw_lot(book, self.lot_id, grounds=self.grounds, now=now)
        access.post(LotNews(standing=standing))


@dataclass(frozen=True, slots=True, kw_only=True)
class SignLot(Job):
    """Sign a lot.

    Attributes:
        lot_id: Identity of the lot.
        person: Who signs.
        meaning: Meaning of the signature.
        pin: PIN of whoever signs; shown nowhere.
    """

    DOING: ClassVar[str] = "signing the lot"
    lot_id: str
    person: str
    meaning: str
    pin: str = field(repr=False)

    def carry_out(self, access: RigAccess) -> None:
        """Check the PIN and put the signature on record."""
        standing = sign_lot(
            LotBook(access.records()),
            self.lot_id,
            self.person,
            pin=self.pin,
            meaning=self.meaning,
            now=datetime.now(UTC),
        )
        access.post(LotNews(standing=standing))
