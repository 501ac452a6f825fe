"""The keys that mean one thing on all screens. None is a character that prints.

A barcode scanner types letters, digits, signs, Enter and Tab; no such key begins a
motion, decides or puts anything on record. The chords here are left alone by terminals,
by the fields' own editing keys and by the control characters of barcode standards.
"""

from __future__ import annotations

from typing import Final

START: Final = "ctrl+g"
"""Begins a motion; where the target will touch the face, it answers the question."""
START_WORD: Final = "Start"
"""What `START` is called everywhere."""
RECORD: Final = "ctrl+r"
"""Asks before something goes on record for good: a lot, a decision, a study."""
SAVE: Final = "ctrl+s"
"""Puts what stands in a form or a question where it is kept."""
SAVE_WORD: Final = "Save"
"""What `SAVE` is called everywhere."""
WRITE: Final = "ctrl+l"
"""Opens a form for what a person adds: details of a run, a note, a part by sight."""
REPORT: Final = "ctrl+o"
"""Writes the report of what is in view."""
OPEN: Final = "ctrl+f"
"""Opens the file that was written last: a report, a document, an export."""
EXPORT: Final = "x"
"""Writes what is in view as tables for a spreadsheet."""
WORDS: Final = "ctrl+k"
"""Tells every picture in words, or draws them again."""
CERTIFY: Final = "f12"
"""Asks what stands on a document to be issued: a certificate, a nonconformity."""
TRAIL: Final = "f10"
"""Shows who changed what of a lot, when and why."""
UNDO: Final = "ctrl+z"
"""Takes back what was typed last, the last note, or a lot that was begun by mistake."""
REDO: Final = "ctrl+y"
"""Takes the undo back."""
QUIT: Final = "ctrl+q"
"""Leaves; asks first while something moves or would be lost."""
BY_CHORD_ONLY: Final = frozenset({START, SAVE, UNDO})
"""What a choice from the palette only names: Enter there must do nothing lasting."""


def shown(key: str) -> str:
    """Return a chord as a sentence names it, such as Ctrl+G."""
    first, _, letter = key.partition("+")
    return f"{first.capitalize()}+{letter.upper()}"


START_SHOWN: Final = shown(START)
"""`START` in a sentence."""
OPEN_SHOWN: Final = shown(OPEN)
"""`OPEN` in a sentence."""
