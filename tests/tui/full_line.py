"""A rig whose output changes faster than its line can tell."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from tests.conformance.conftest import PtySubject

TOGGLES_S = 500  # more than a line of 115200 bits a second can tell


@contextmanager
def full_line() -> Iterator[str]:
    """Serve such a rig; gives its port."""
    subject = PtySubject()
    subject._port.__exit__(None, None, None)  # the app opens it instead
    ended = threading.Event()

    def toggle() -> None:
        level = False
        while not ended.wait(1.0 / TOGGLES_S):
            level = not level
            subject.world.hold_output(level)

    thread = threading.Thread(target=toggle, name="toggling hand")
    thread.start()
    try:
        yield subject._port.name
    finally:
        ended.set()
        thread.join()
        subject.close()
