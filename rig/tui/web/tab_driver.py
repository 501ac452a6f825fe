"""The driver of a browser tab: the library's own, which also notices a lost server.

A server that was killed says nothing more, but its end of the pipe is closed. Then the
axis is stopped at once and the process ends, in good order or not.
"""

from __future__ import annotations

import os
import signal
import threading
from typing import Final

from textual.drivers.web_driver import WebDriver

_LEAVING_PATIENCE_S: Final = 10.0  # closing the rig takes up to 3


class TabDriver(WebDriver):
    """Drives the app by what its server sends."""

    def run_input_thread(self) -> None:
        """Take input until the server or the app has gone."""
        super().run_input_thread()
        if self.exit_event.is_set():
            return
        # As when anybody asks it to end: the axis first, then the rest
        os.kill(os.getpid(), signal.SIGTERM)
        end = threading.Timer(_LEAVING_PATIENCE_S, os._exit, (1,))
        end.daemon = True
        end.start()
