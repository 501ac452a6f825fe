"""Messages of Textual: what the rig's thread tells, and what a screen asks for."""

from __future__ import annotations

from textual.message import Message

from rig.tui.rig.jobs import Job
from rig.tui.rig.rig_events import Reading, RigEvent


class RigReported(Message):
    """The thread of the rig told something."""

    def __init__(self, event: RigEvent) -> None:
        super().__init__()
        self.event = event


class ReadingCame(Message):
    """A live reading; a later one takes the place of those that nobody has seen yet."""

    def __init__(self, reading: Reading) -> None:
        super().__init__()
        self.reading = reading

    def can_replace(self, message: Message) -> bool:
        """Drop readings that wait in the queue."""
        return isinstance(message, ReadingCame)


class Ask(Message):
    """A screen asks for something to be done with the rig."""

    def __init__(self, job: Job) -> None:
        super().__init__()
        self.job = job
