"""Checked TOML: every complaint names file, line, field and what would be right."""

from __future__ import annotations

import difflib
import json
import re
import tomllib
import unicodedata
from collections.abc import Iterable
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from rig.catalogue.toml_lines import Place, line_of
from rig.errors import InputError
from rig.model.plain_text import check_text, plain_text

_Document = TypeVar("_Document", bound=BaseModel)
# Likeness from 0 to 1 that a name must have to be offered for another. Lower, and
# words are offered that share a few letters only
_LIKENESS = 0.7
_SHOWN_CHARACTERS = 40
_MOST_LEVELS = 8
_MOST_ENTRIES = 10_000
_DEEPEST = f"tables and lists go {_MOST_LEVELS} levels deep at most"
# A key of more parts than any that we know; reading one of thousands takes minutes
_LONG_KEY = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){32}"""
)
# By kind of error of the validation library: what would be right
_RIGHT = {
    "string_type": "it must be a text in quotes",
    "string_too_short": "it must not be empty",
    "string_too_long": "it must have at most {max_length} characters",
    "int_type": "it must be a whole number",
    "float_type": "it must be a number",
    "bool_type": "it must be true or false",
    "tuple_type": "it must be a list in square brackets",
    "model_type": "it must be a table",
    "too_short": "it must have at least {min_length} entry",
    "too_long": "it has {actual_length} entries and must have at most {max_length}",
    "greater_than": "it must be above {gt:g}",
    "greater_than_equal": "it must be {ge:g} or more",
    "less_than_equal": "it must be {le:g} or less",
    "finite_number": "it must be a finite number",
}


class Strict(BaseModel):
    """A table of a TOML file; a key that it does not know is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def parse(text: str, where: str, document: type[_Document]) -> _Document:
    """Return the checked document.

    Args:
        text: TOML.
        where: Name of the file, for complaints.
        document: What it must be.

    Raises:
        InputError: It is no TOML, too deep or too long, or a field is unknown, missing
            or wrong, or holds what is no text.
    """
    _check_keys(text, where)
    try:
        raw = tomllib.loads(text)
    except RecursionError as exc:
        raise InputError(f"{where} is nested too deeply", hint=_DEEPEST) from exc
    except ValueError as exc:  # also of numbers beyond all bounds
        raise InputError(f"{where} is not valid TOML: {exc}") from exc
    raw = _normal(raw, text, where, ())
    # By way of JSON: being strict there takes lists and words for what they stand for,
    # but no text for a number and no number for a text
    strict = json.dumps(raw, default=lambda moment: {"moment": str(moment)})
    try:
        checked = document.model_validate_json(strict)
    except ValidationError as exc:
        errors: list[dict[str, Any]] = [dict(e) for e in exc.errors(include_url=False)]
        # A name that was mistyped says more than that the right one is missing
        errors.sort(key=lambda error: error["type"] != "extra_forbidden")
        sentence, hint = _complaint(text, raw, document, errors[0])
        spot = spot_of(text, where, _place(errors[0]))
        raise InputError(f"{spot}: {sentence}", hint=hint) from exc
    _check_texts(raw, text, where, ())
    return checked


def _check_keys(text: str, where: str) -> None:
    found = _LONG_KEY.search(text)
    if found is not None:
        line = text.count("\n", 0, found.start()) + 1
        raise InputError(
            f"{where}, line {line}: a key has more than 32 parts", hint=_DEEPEST
        )


def _normal(value: Any, text: str, where: str, place: Place) -> Any:
    """Return a value within bounds, with its texts in normal form C."""
    if len(place) > _MOST_LEVELS:
        spot = spot_of(text, where, place[:1])
        raise InputError(f"{spot}: nested too deeply", hint=_DEEPEST)
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, (dict, list)) and len(value) > _MOST_ENTRIES:
        raise InputError(
            f"{spot_of(text, where, place)}: {len(value)} entries: at most "
            f"{_MOST_ENTRIES} are read"
        )
    if isinstance(value, dict):
        return {
            key: _normal(inner, text, where, (*place, key))
            for key, inner in value.items()
        }
    if isinstance(value, list):
        return [
            _normal(inner, text, where, (*place, index))
            for index, inner in enumerate(value)
        ]
    return value


def _check_texts(value: Any, text: str, where: str, place: Place) -> None:
    if isinstance(value, str):
        named = next((part for part in place[::-1] if isinstance(part, str)), "")
        try:
            check_text(value, f"field {named!r}")
            plain_text(value, f"field {named!r}")
        except InputError as exc:
            spot = spot_of(text, where, place)
            raise InputError(f"{spot}: {exc}", hint=exc.hint) from exc
    parts = list(value) if isinstance(value, dict) else []
    if isinstance(value, list):
        parts = list(range(len(value)))
    for part in parts:
        _check_texts(value[part], text, where, (*place, part))


def spot_of(text: str, where: str, place: Place) -> str:
    """Return file and line of a place in a valid TOML text, in words."""
    line = line_of(text, place)
    return f"{where}, line {line}" if line else where


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a hint that offers the known word nearest to one, or all of them."""
    words = list(known)
    close = difflib.get_close_matches(word, words, n=1, cutoff=_LIKENESS)
    # Of short words, two letters exchanged count for much
    close = close or [one for one in words if sorted(one) == sorted(word)]
    return f"did you mean {close[0]!r}?" if close else f"known: {', '.join(words)}"


def _place(error: dict[str, Any]) -> Place:
    # A check of a whole list says in its context which of its entries is meant
    return (*error["loc"], *error.get("ctx", {}).get("place", ()))


def _complaint(
    text: str, raw: dict[str, Any], document: type[BaseModel], error: dict[str, Any]
) -> tuple[str, str]:
    place = _place(error)
    subject, field = _subject(place, raw)
    fields = _table_of(document, place).model_fields
    if error["type"] == "extra_forbidden":
        return f"unknown {subject}", nearest(field, fields)
    if error["type"] == "missing":
        needed = [name for name, info in fields.items() if info.is_required()]
        return f"{subject} is missing", f"needed: {', '.join(needed)}"
    value = _value_at(raw, place)
    if error["type"] == "tuple_type" and isinstance(value, dict):
        return (
            f"{subject} is a table",
            f"each {field} begins with [[{field}]] in double brackets",
        )
    return f"{subject}{_shown(value)}: {sentence_of(error)}", ""


def sentence_of(error: dict[str, Any]) -> str:
    """Return what would be right where the validation library finds an error."""
    right = _RIGHT.get(error["type"])
    if right is not None:
        return right.format(**error.get("ctx", {}))
    sentence = str(error["msg"]).removeprefix("Value error, ")
    return sentence.replace("Input should be", "it must be", 1)


def _subject(place: Place, raw: dict[str, Any]) -> tuple[str, str]:
    """Return what a place is, in words, and the name of its field."""
    entry, rest = "", place
    if len(place) > 1 and isinstance(place[1], int):
        name, index = str(place[0]), place[1]
        if isinstance(_value_at(raw, place[:2]), dict):
            entry, rest = f"{name} {index + 1}", place[2:]
    if not rest:
        return entry, ""
    names = [part for part in rest if isinstance(part, str)]
    field = names[-1]
    inside = f" in {entry}" if entry else ""
    item = next((f", item {part + 1}," for part in rest if isinstance(part, int)), "")
    return f"field {'.'.join(names)!r}{inside}{item}", field


def _table_of(document: type[BaseModel], place: Place) -> type[BaseModel]:
    model: Any = document
    for part in place[:-1]:
        field = model.model_fields.get(part)
        annotation = field and field.annotation
        inner = getattr(annotation, "__args__", (annotation,))[0]
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            model = inner
    table: type[BaseModel] = model
    return table


def _value_at(raw: Any, place: Place) -> Any:
    for part in place:
        if isinstance(raw, dict):
            raw = raw.get(str(part))
        elif isinstance(raw, list) and isinstance(part, int):
            raw = raw[part]
    return raw


def _shown(value: Any) -> str:
    """Return " is ..." for a value as TOML writes it; nothing for a whole table."""
    match value:
        case dict():
            return ""
        case list():
            return " is a list" if value else " is empty"
        case bool():
            return f" is {str(value).lower()}"
        case str():
            cut = value[:_SHOWN_CHARACTERS]
            return f" is {cut!r}{'...' if cut != value else ''}"
        case _:
            return f" is {str(value)[:_SHOWN_CHARACTERS]}"
