"""The declaration of a bench as a TOML file, checked."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field

from rig.catalogue.input_file import read_text
from rig.catalogue.toml_input import Strict, parse, spot_of
from rig.errors import InputError
from rig.model.bench_declaration import (
    BenchDeclaration,
    DeclaredValue,
    ValueSource,
    declared_value,
    screw_class,
)

_SOURCES = ", ".join(source.value for source in ValueSource)


class _Number(Strict):
    value: float
    source: str


_Table = dict[str, _Number | float | str]


class _BenchFile(Strict):
    screw: _Table = Field(default_factory=dict)
    probe: _Table = Field(default_factory=dict)
    alignment: _Table = Field(default_factory=dict)
    plate: _Table = Field(default_factory=dict)
    face: _Table = Field(default_factory=dict)
    thermal: _Table = Field(default_factory=dict)
    thermometer: _Table = Field(default_factory=dict)
    supply: _Table = Field(default_factory=dict)


def load_bench(path: Path) -> BenchDeclaration:
    """Read the declaration of a bench.

    A table for each part of the bench, such as `[screw]`, holds its numbers and says
    with `source` where they come from; a number on its own may be a table with `value`
    and `source`. `class` in `[screw]` names an accuracy class.

    Args:
        path: TOML file.

    Raises:
        InputError: It is not there, no TOML, or something in it is not right.
    """
    text = read_text(path)
    found = parse(text, str(path), _BenchFile)
    values: list[DeclaredValue] = []
    named, named_source = "", ValueSource.ASSUMED
    for group in _BenchFile.model_fields:
        table: _Table = getattr(found, group)
        for name, entry in table.items():
            if name == "source":
                continue
            try:
                if (group, name) == ("screw", "class"):
                    named = screw_class(_text(entry)).name
                    named_source = source_of(_source_in(table))
                else:
                    values.append(_value(f"{group}.{name}", entry, table))
            except InputError as exc:
                spot = spot_of(text, str(path), (group, name))
                raise InputError(f"{spot}: {exc}", hint=exc.hint) from exc
    return BenchDeclaration(
        screw_class=named, screw_class_source=named_source, values=tuple(values)
    )


def source_of(word: str) -> ValueSource:
    """Return the source that a word names.

    Raises:
        InputError: There is no such source.
    """
    try:
        return ValueSource(word)
    except ValueError as exc:
        raise InputError(
            f"{word!r} is no source of a number", hint=f"give one of: {_SOURCES}"
        ) from exc


def _value(key: str, entry: _Number | float | str, table: _Table) -> DeclaredValue:
    if isinstance(entry, _Number):
        return declared_value(key, entry.value, source_of(entry.source))
    if isinstance(entry, str):
        raise InputError(f"{key} is {entry!r}: it must be a number")
    return declared_value(key, entry, source_of(_source_in(table)))


def _source_in(table: _Table) -> str:
    if "source" not in table:
        raise InputError(
            "nothing says where the number comes from",
            hint=f'add source = "maker" to the table, or another of: {_SOURCES}',
        )
    return _text(table["source"])


def _text(entry: _Number | float | str) -> str:
    if not isinstance(entry, str):
        raise InputError("it must be a text in quotes")
    return entry
