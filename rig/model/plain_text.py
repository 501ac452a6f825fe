"""Text that comes from elsewhere: one way in, and one way out to whoever reads it.

A terminal obeys control characters, and characters that turn the direction of text make
a line read as another; either could paint over a verdict. So text that somebody gives
is refused if it holds one, and what is shown is cleaned once more.
"""

from __future__ import annotations

import re
import unicodedata

from rig.errors import InputError

LONGEST_TEXT = 1000  # characters of a name, a note or a title
# Unicode 15: control characters (Cc), marks of direction (UAX 9), separators of lines
# and paragraphs, what has no width but joins of letters, halves of pairs, tags, and
# what is no character at all
_UNFIT = (
    "\x00-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f"
    "\ud800-\udfff\ufdd0-\ufdef\ufeff\ufff9-\ufffb\ufffe\uffff\U000e0000-\U000e007f"
)
_UNFIT_ANYWHERE = re.compile(f"[{_UNFIT}]")
_UNFIT_IN_LINES = re.compile(f"(?![\n\t])[{_UNFIT}]")
_REPLACEMENT = "\ufffd"


def plain_text(text: str, where: str) -> str:
    """Return a text that somebody gave: trimmed, in normal form C.

    Args:
        text: What was given.
        where: What it is, for the message.

    Raises:
        InputError: It is too long, or holds a character that is no text.
    """
    check_text(text.strip(), where)
    if len(text) > LONGEST_TEXT:
        raise InputError(
            f"{where} has {len(text)} characters: it must have at most {LONGEST_TEXT}"
        )
    return unicodedata.normalize("NFC", text.strip())


def check_text(text: str, where: str, *, lines: bool = False) -> None:
    """Let only text pass, such as a path, which stays as it is.

    Args:
        text: What was given.
        where: What it is, for the message.
        lines: Whether it may have several lines.

    Raises:
        InputError: It holds a character that is no text.
    """
    unfit = _UNFIT_IN_LINES if lines else _UNFIT_ANYWHERE
    found = unfit.search(text)
    if found is not None:
        raise InputError(
            f"{where} holds {_name_of(found[0])} as character {found.start() + 1}",
            hint="give letters, digits and signs, in one line",
        )


def pasted(text: str) -> str:
    """Return what somebody pastes, who sees it: without what is no text."""
    return unicodedata.normalize("NFC", _UNFIT_IN_LINES.sub("", text))


def shown(text: str) -> str:
    """Return lines for whoever reads them, with what is no text replaced."""
    return _UNFIT_IN_LINES.sub(_REPLACEMENT, text)


def shown_in_line(text: str) -> str:
    """Return one line or cell, with each sign that is no text replaced by one that is.

    Ends of lines and tabs are none in a line.
    """
    return _UNFIT_ANYWHERE.sub(_REPLACEMENT, text)


def escaped_json(document: str) -> str:
    """Return a JSON document in which escapes stand for what is no text."""
    return _UNFIT_IN_LINES.sub(_as_escape, document)


def _as_escape(found: re.Match[str]) -> str:
    units = found[0].encode("utf-16-be", "surrogatepass")
    return "".join(
        f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2)
    )


def _name_of(sign: str) -> str:
    if "\ud800" <= sign <= "\udfff":
        return "a byte that is not UTF-8"
    kind = unicodedata.category(sign)
    what = "a control character" if kind == "Cc" else "which is not seen"
    return f"U+{ord(sign):04X}, {what},"
