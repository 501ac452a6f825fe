"""What the screens remember from one day to the next: texts by name, in one file.

Habits (theme, bell, operator), the rig that was used last, where somebody worked, and
what somebody has begun to type. It is on disk when `keep` returns, whole or not at
all; two windows may share the file.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

from rig.errors import InputError

LOCATION_VARIABLE = "GAPSWEEP_MEMORY"
ON = "on"
IN_WORDS = "words"
REDUCED = "reduced"
RIG = "rig"
"""The rig that was connected last stands there."""


def default_memory() -> Path:
    """Return the file when nobody says otherwise.

    That is what the environment variable GAPSWEEP_MEMORY says, otherwise
    ``screens.json`` in the folder that the system has for a user's settings.
    """
    said = os.environ.get(LOCATION_VARIABLE, "")
    if said:
        return Path(said)
    import platformdirs

    folder = platformdirs.user_config_path("gapsweep", appauthor=False)
    return folder / "screens.json"


class Memory:
    """Texts by name. A file that is missing or broken counts as empty."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._texts = self._read()

    def kept(self, name: str, default: str = "") -> str:
        """Return a text."""
        return self._texts.get(name, default)

    def keep(self, name: str, text: str) -> None:
        """Keep a text; an empty one is forgotten.

        Raises:
            InputError: The file cannot be written. The text is kept until the end.
        """
        self._texts[name] = text
        # Another window may have written since
        texts = {**self._read(), name: text}
        texts = {key: value for key, value in texts.items() if value}
        part = self._path.with_name(f".{self._path.name}.{os.getpid()}.part")
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            part.write_text(json.dumps(texts, indent=1, ensure_ascii=False), "utf-8")
            os.replace(part, self._path)
        except OSError as exc:
            reason = (exc.strerror or str(exc)).lower()
            raise InputError(f"{self._path} cannot be written: {reason}") from exc

    def _read(self) -> dict[str, str]:
        try:
            found = json.loads(self._path.read_text("utf-8"))
        except (OSError, ValueError):
            return {}
        if not isinstance(found, dict):
            return {}
        return {str(key): text for key, text in found.items() if isinstance(text, str)}
