"""The table of keys: each means one thing on all screens. Bindings are made here alone.

A barcode scanner types letters, digits, signs, Enter and Tab; no such key begins a
motion, decides or puts anything on record. The chords here are left alone by terminals,
by the fields' own editing keys and by the control characters of barcode standards.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from textual.binding import Binding

STOP: Final = "space"
"""Stops the axis."""
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
NEW: Final = "n"
"""Makes a new one of what is listed."""
REPEAT: Final = "r"
"""Measures again what was measured."""
OTHER: Final = "v"
"""Shows another view or another one of what is in view."""
WORK_OUT: Final = "w"
"""Works out what is chosen; reads the records only."""
IMPORT: Final = "i"
"""Asks for a file and takes in what stands there."""
BY_CHORD_ONLY: Final = frozenset({START, SAVE, UNDO})
"""What a choice from the palette only names: Enter there must do nothing lasting."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a key means, on every screen.

    Attributes:
        keys: Names of the keys, as the UI library has them; several where one leads
            one way and one the other.
        shown: The keys as the help names them.
        sentence: What they do.
        labels: Words for it that stand beside the key at a screen's foot.
    """

    keys: tuple[str, ...]
    shown: str
    sentence: str
    labels: tuple[str, ...] = ()


def shown(key: str) -> str:
    """Return a chord as a sentence names it, such as Ctrl+G."""
    first, _, letter = key.partition("+")
    return f"{first.capitalize()}+{letter.upper()}"


START_SHOWN: Final = shown(START)
"""`START` in a sentence."""
OPEN_SHOWN: Final = shown(OPEN)
"""`OPEN` in a sentence."""


def _chord(key: str, sentence: str, *labels: str) -> Meaning:
    return Meaning(keys=(key,), shown=shown(key), sentence=sentence, labels=labels)


def _key(key: str, sentence: str, *labels: str) -> Meaning:
    name = key if len(key) == 1 else key.capitalize()
    return Meaning(keys=(key,), shown=name, sentence=sentence, labels=labels)


MEANINGS: Final = (
    Meaning(
        keys=(STOP,),
        shown="space",
        sentence="stops the axis at once while it moves, whatever has the focus; while "
        "nothing moves it types and ticks",
    ),
    Meaning(
        keys=("f1", "question_mark"),
        shown="F1 or ?",
        sentence="this page; Escape leads back",
        labels=("Help",),
    ),
    _key("f2", "the rig: connect to one", "Rig"),
    _key("f3", "the bench: what is mounted, check and touch-off", "Bench"),
    _key("f4", "sweeps of what is mounted", "Sweeps"),
    _key("f5", "the list of all screens, by who works there", "Screens"),
    _key("f6", "the technician's plans", "Plans"),
    _key("f7", "the technician's runs", "Runs"),
    _key("f8", "light or dark; it stays so", "Theme"),
    _key("f9", "in front of a class: the large live view", "Live"),
    _key(TRAIL, "at a lot: who changed what, when and why", "Trail"),
    _key(
        CERTIFY,
        "issues a document, once it has asked what stands there: a certificate, a "
        "nonconformity",
        "Certify",
        "Complain",
    ),
    _chord(
        START,
        "the one key that begins a motion, everywhere; before the target touches the "
        "face it asks, and Ctrl+G once more is the answer",
        START_WORD,
    ),
    _chord(
        RECORD,
        "asks before something goes on record for good: a lot, a decision, a study, an "
        "approval, a PIN, a rig that changed; at the declaration: leaves all assumed",
        "Record",
        "Approve",
        "Sign",
        "PIN",
        "Confirm",
        "Put off",
    ),
    _chord(SAVE, "saves what is typed; in a question: puts it on record", SAVE_WORD),
    _chord(
        WRITE,
        "opens a form for what a person adds: operator, part, temperature and note of "
        "the next runs; a note to a run; a part judged by sight; a name; a data sheet",
        "Details",
        "Note",
        "Sight",
        "Name",
        "Data sheet",
    ),
    _chord(REPORT, "the report of what is in view, or the label", "Report", "Label"),
    _chord(OPEN, "the file that was written last: report, document, export", "Open"),
    _key(EXPORT, "at the runs: tables of those in view, for a spreadsheet", "Export"),
    _chord("ctrl+e", "at the bench: what is declared of it", "Declaration"),
    _chord(
        UNDO,
        "takes the last back: what was typed or ticked, the last note of a run, a lot "
        "that was begun by mistake",
        "Undo",
        "Undo note",
        "Withdraw",
    ),
    _chord(REDO, "takes the undo back", "Redo"),
    _chord("ctrl+p", "all that can be done now, by name; the bell too", "Palette"),
    Meaning(
        keys=(QUIT, "ctrl+c"),
        shown=shown(QUIT),
        sentence="leaves; asks first while something moves or would be lost. Nothing "
        "that was measured is lost",
        labels=("Quit",),
    ),
    Meaning(
        keys=("enter",),
        shown="Enter",
        sentence="chooses, opens, goes on to the next field; nothing moves",
        labels=("Tick",),
    ),
    Meaning(
        keys=("escape",),
        shown="Escape",
        sentence="leads back, out of a field, a question or a screen, and changes "
        "nothing",
        labels=(
            "Back",
            "Leave field",
            "To the table",
            "Done",
            "Not now",
            "Later",
            "Leave as it was",
            "Stay",
            "Stop here",
        ),
    ),
    Meaning(
        keys=("tab", "shift+tab", *"123456789"),
        shown="Tab, 1 to 9",
        sentence="on to the next field or section, with Shift back; a number leads to "
        "the section that has it",
        labels=("Next", "Turn back"),
    ),
    Meaning(
        keys=("up", "down", "home", "end"),
        shown="arrows up, down",
        sentence="to the one before or after: field, row, line; at a lot, the part "
        "before once more",
        labels=("Again",),
    ),
    Meaning(
        keys=("left", "right", "shift+left", "shift+right"),
        shown="arrows left, right",
        sentence="at the trimmer: say which way the screw was turned",
        labels=(
            "Anticlockw.",
            "Clockwise",
            "Anticlockwise, far",
            "Clockwise, far",
        ),
    ),
    Meaning(
        keys=("pagedown", "pageup"),
        shown="Page Down, Page Up",
        sentence="in a lesson: the next page, the page before",
        labels=("Next page", "Page before"),
    ),
    _key(NEW, "makes a new one of what is listed", "New", "New plan", "New study"),
    _key(REPEAT, "measures the marked pair again", "Repeat"),
    _key("delete", "leaves the marked pair out today, or not", "Skip"),
    _key("insert", "begins a plan once more", "Begin again"),
    _key("f", "opens the figures of what is marked", "Figures"),
    _key(
        WORK_OUT,
        "works out what is chosen; reads the records only",
        "Work out",
        "Results",
    ),
    _key("c", "finds the components of the readings so far", "Components"),
    _key("g", "a study of readings as they are", "Gauge study"),
    _key(IMPORT, "takes in what stands in a file", "Import"),
    Meaning(
        keys=("slash",),
        shown="/",
        sentence="types words that filter a list",
        labels=("Filter",),
    ),
    _key("s", "sorts a list by its next column", "Sort"),
    _key("d", "turns the order of a list round", "Turn"),
    Meaning(
        keys=(WORDS, "t"),
        shown=f"{shown(WORDS)}, t",
        sentence="all pictures, on every screen: in words and numbers, or drawn; t "
        "where nothing is typed",
        labels=("In words", "Words"),
    ),
    _key(
        OTHER,
        "shows another: picture, batch, rig; theory or none",
        "Other picture",
        "Other batch",
        "Other rig",
        "Theory",
    ),
)
"""Every key that a screen binds."""

_MEANING_OF: Final = {key: one for one in MEANINGS for key in one.keys}


def bound(keys: str, action: str, label: str = "", **options: Any) -> Binding:
    """Return a binding of keys to what they mean.

    Args:
        keys: Names of the keys with commas between; all of one meaning.
        action: Action that they run.
        label: One of the labels of that meaning; empty for a binding that is not shown.
        options: What else a `textual.binding.Binding` takes.

    Raises:
        ValueError: A key is not in the table, or the label is of another meaning.
    """
    for key in keys.split(","):
        meaning = _MEANING_OF.get(key)
        if meaning is None:
            raise ValueError(f"{key} is not in the table of keys")
        if label and label not in meaning.labels:
            raise ValueError(f"{key} does not mean {label!r}: {meaning.sentence}")
    return Binding(keys, action, label, **options)
