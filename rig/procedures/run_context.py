"""What every run needs beside its order: the rig, the records, a listener, a clock."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Self

from rig.analysis.standard.early_verdict import decision_of_run
from rig.model.mounted import Sensor, Target
from rig.model.settings import BenchSettings
from rig.procedures.events import Remarked, Tell
from rig.procedures.known_rig import check_known
from rig.procedures.last_part import last_part
from rig.procedures.mover import Mover
from rig.procedures.ready_bench import Bench
from rig.procedures.touch_off import touch_off
from rig.procedures.verdict_goal import Judge
from rig.records import Reader, Store, Writer
from rig.records.attempt_book import AttemptBook
from rig.records.product_book import ProductBook
from rig.records.rig_book import RigBook

_UNDECLARED = (
    "Nothing is declared of this bench: what its screw, probe and plate may be off by"
    " is assumed, wide on purpose; `gapsweep bench set` declares it, with --later it"
    " is not said again."
)


def utc_now() -> datetime:
    """Return the time, UTC."""
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunContext:
    """What runs and plans are carried out with; used by one thread.

    Attributes:
        mover: Moves the axis.
        settings: How the axis is driven.
        reader: Reads the records.
        writer: Writes the records.
        attempts: Keeps every attempt with its outcome.
        products: Product specifications on record.
        tell: Called with every event.
        now: Gives the time, UTC.
        chance: Source of identities of runs and plans.
        rigs: Register of the rigs that measured; None where none is kept.
        judge: Decides about a run that ends as soon as its verdict is clear.
        reminded: Rigs of which it was said that nothing is declared of their bench.
    """

    mover: Mover
    settings: BenchSettings
    reader: Reader
    writer: Writer
    attempts: AttemptBook
    products: ProductBook
    tell: Tell
    now: Callable[[], datetime] = utc_now
    chance: random.Random = field(default_factory=random.SystemRandom)
    rigs: RigBook | None = None
    judge: Judge = decision_of_run
    reminded: set[str] = field(default_factory=set)

    @classmethod
    def on(
        cls, mover: Mover, settings: BenchSettings, store: Store, tell: Tell
    ) -> Self:
        """Return the context of runs that go on these records by the wall's clock."""
        return cls(
            mover=mover,
            settings=settings,
            reader=Reader(store),
            writer=Writer(store),
            attempts=AttemptBook(store),
            products=ProductBook(store),
            tell=tell,
            rigs=RigBook(store),
        )

    def touch_off(
        self, sensor: Sensor | None = None, target: Target | None = None
    ) -> Bench:
        """Find the datum of what is mounted.

        Args:
            sensor: Sensor that is mounted, so that its face is looked for near that of
                the last of its kind; None to look for it all the way.
            target: Target that is mounted, likewise.

        Raises:
            RigChanged: The rig is not as it is known.
            BenchError: The bench cannot be touched off.
            Stopped: Somebody stopped it.
        """
        if self.rigs is not None:
            check_known(self.rigs, self.mover.traits, now=self.now())
        rig_id = self.mover.traits.rig_id
        declared = self.writer.bench_in_force(rig_id)
        if rig_id not in self.reminded and not self.writer.bench_on_record(rig_id):
            self.reminded.add(rig_id)
            self.tell(Remarked(sentence=_UNDECLARED))
        last = None
        if sensor is not None and target is not None:
            last = last_part(self.reader, rig_id, sensor, target, self.now())
        return touch_off(
            self.mover,
            self.settings,
            self.tell,
            declared=declared,
            last=last,
            now=self.now,
        )
