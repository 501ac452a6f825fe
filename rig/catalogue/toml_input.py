"""Checked TOML: every complaint names file, line, field and what would be right."""

from __future__ import annotations

import difflib
import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from rig.errors import InputError

_Document = TypeVar("_Document", bound=BaseModel)


class Strict(BaseModel):
    """A table of a TOML file; a key that it does not know is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises:
        InputError: It is not there, not readable or not UTF-8.
    """
    try:
        return path.read_text("utf-8")
    except FileNotFoundError as exc:
        raise InputError(f"there is no file {path}") from exc
    except (OSError, UnicodeDecodeError) as exc:
        raise InputError(f"{path} cannot be read as a text file: {exc}") from exc


def parse(text: str, where: str, document: type[_Document]) -> _Document:
    """Return the checked document.

    Args:
        text: TOML.
        where: Name of the file, for complaints.
        document: What it must be.

    Raises:
        InputError: It is no TOML, or a field is unknown, missing or wrong.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as exc:
        raise InputError(f"{where} is not valid TOML: {exc}") from exc
    try:
        return document.model_validate(raw)
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        sentence, hint = _complaint(text, where, document, dict(first))
        raise InputError(sentence, hint=hint) from exc


def _complaint(
    text: str, where: str, document: type[BaseModel], error: dict[str, Any]
) -> tuple[str, str]:
    place = tuple(error["loc"])
    tables = [part for part in place if isinstance(part, str)]
    field = next((part for part in reversed(place) if isinstance(part, str)), "")
    index = next((part for part in place if isinstance(part, int)), None)
    line = _line_of(text, tables, index, field)
    spot = f"{where}, line {line}" if line else where
    entry = f" in {tables[0]} {index + 1}" if index is not None else ""
    if error["type"] == "extra_forbidden":
        known = _fields_of(document, place)
        close = difflib.get_close_matches(field, known, n=1)
        hint = f"did you mean {close[0]!r}?" if close else f"known: {', '.join(known)}"
        return f"{spot}: unknown field {field!r}{entry}", hint
    if error["type"] == "missing":
        return f"{spot}: field {field!r}{entry} is missing", ""
    message = str(error["msg"]).removeprefix("Value error, ")
    message = message[:1].lower() + message[1:]
    got = error.get("input")
    return f"{spot}: field {field!r}{entry} is {got!r}: {message}", ""


def _fields_of(document: type[BaseModel], place: tuple[Any, ...]) -> list[str]:
    model: Any = document
    for part in place[:-1]:
        if isinstance(part, str):
            annotation = model.model_fields[part].annotation
            inner = getattr(annotation, "__args__", (annotation,))
            model = inner[0]
    # The alias is the word that stands in the file
    fields = model.model_fields.items()
    return [field.alias or name for name, field in fields]


def _line_of(text: str, tables: list[str], index: int | None, field: str) -> int | None:
    """Return the line of a field, or of its table where the field is missing."""
    lines = text.splitlines()
    start = 0
    if index is not None:
        heads = [
            n for n, line in enumerate(lines) if line.strip() == f"[[{tables[0]}]]"
        ]
        if index < len(heads):
            start = heads[index]
    pattern = re.compile(rf"\s*{re.escape(field)}\s*=")
    for number in range(start, len(lines)):
        if number > start and lines[number].strip().startswith("[["):
            break
        if pattern.match(lines[number]):
            return number + 1
    return start + 1 if index is not None else None
