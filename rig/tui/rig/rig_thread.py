"""The one thread that owns the rig: a queue of jobs, done one after another.

In between it keeps the link alive by looks. Knows nothing of the screens: what it has
to say goes through a callback. `stop` never waits behind a job.
"""

from __future__ import annotations

import logging
import queue
import threading
from contextlib import suppress
from typing import TYPE_CHECKING

from rig.errors import RigError, Stopped
from rig.model.settings import BenchSettings
from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_access import RigAccess
from rig.tui.rig.rig_events import Done, Failed, Post, Problem

if TYPE_CHECKING:
    from firmware_protocol.messages import LookAnswer
    from rig.link.inbox import Delivery

THREAD_NAME = "rig-link"
IDLE_LOOK_S = 0.1  # a fifth of the silence that a controller bears
CLOSING_PATIENCE_S = 3.0

log = logging.getLogger(__name__)


class RigThread:
    """Starts, feeds, stops and ends the thread.

    Attributes:
        post: Called in that thread with everything that it has to say.
    """

    def __init__(
        self, post: Post, *, records: str, settings: BenchSettings | None = None
    ) -> None:
        self.post = post
        self._jobs: queue.SimpleQueue[tuple[int, Job] | None] = queue.SimpleQueue()
        self._access = RigAccess(
            post,
            watcher=self._watch,
            records=records,
            settings=settings or BenchSettings(),
        )
        self._closing = threading.Event()
        self._stops = 0
        self._stops_at_submit: int | None = None
        self._counting = threading.Lock()
        self._moves = 0
        self._thread = threading.Thread(
            target=self._live, name=THREAD_NAME, daemon=True
        )

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    @property
    def moving(self) -> bool:
        """Whether a job that moves the axis is under way or waits; from any thread."""
        return self._moves > 0

    def submit(self, job: Job) -> None:
        """Put a job at the end of the queue."""
        self._count(job, 1)
        self._jobs.put((self._stops, job))

    def stop(self) -> None:
        """Stop the axis at once; from any thread, whatever the thread is doing.

        Moving jobs that were submitted before are given up, those under way and
        those still in the queue alike.

        Raises:
            LinkLost: The stop could not be sent because the port went away.
        """
        self._stops += 1
        if (link := self._access.link) is not None:
            link.stop()

    def close(self, patience_s: float = CLOSING_PATIENCE_S) -> bool:
        """Stop the axis, let go of the rig and end; return whether it has ended."""
        self._closing.set()
        with suppress(RigError):
            self.stop()
        self._jobs.put(None)
        if self._thread.ident is not None:
            self._thread.join(patience_s)
        return not self._thread.is_alive()

    # ------------------------------------------------------------- in the thread

    def _live(self) -> None:
        try:
            while not self._closing.is_set():
                self._turn()
        finally:
            self._access.close()

    def _turn(self) -> None:
        try:
            item = self._jobs.get(timeout=IDLE_LOOK_S)
        except queue.Empty:
            self._keep_alive()
            return
        if item is not None and not self._closing.is_set():
            self._do(*item)

    def _do(self, stops: int, job: Job) -> None:
        if job.MOVES:
            self._stops_at_submit = stops
            # A stop that came after the order to begin has been counted since
            if (link := self._access.link) is not None:
                link.forget_stop()
        try:
            self._raise_if_stopped()
            job.carry_out(self._access)
        except RigError as exc:
            self._fail(job, exc)
        except Exception as exc:
            # Whatever it is, the axis must come to rest and the user must know
            log.exception("%s failed", job.DOING)
            what = f"{job.DOING} failed in a way that was not foreseen: {exc!r}"
            self._fail(job, RigError(what, hint="what was measured is on record"))
        else:
            self.post(Done(job=job))
        finally:
            self._stops_at_submit = None
            self._count(job, -1)

    def _count(self, job: Job, by: int) -> None:
        if job.MOVES:
            with self._counting:
                self._moves += by

    def _fail(self, job: Job, error: RigError) -> None:
        self._stops_at_submit = None
        self._access.settle(error, moved=job.MOVES)
        problem = Problem(
            sentence=str(error), hint=error.hint, stopped=isinstance(error, Stopped)
        )
        self.post(Failed(job=job, problem=problem))

    def _keep_alive(self) -> None:
        try:
            self._access.keep_alive()
        except RigError as exc:
            self._access.let_go(exc)

    def _watch(self, item: LookAnswer | Delivery) -> None:
        self._access.see(item)
        # A stop that came while a job was begun is counted, if the link forgot it
        self._raise_if_stopped()

    def _raise_if_stopped(self) -> None:
        if self._stops_at_submit not in (None, self._stops):
            raise Stopped("stopped on request")
