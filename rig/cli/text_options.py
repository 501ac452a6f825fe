"""What is typed as options of a command: plain text, or a sentence why it is not."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

from rig.errors import InputError
from rig.model.gs1 import FNC1
from rig.model.number_input import number
from rig.model.part_number import AROUND, part_number
from rig.model.plain_text import check_text, plain_text


class PlainTextType(click.ParamType[str]):
    """Text in one line, trimmed and in normal form C."""

    name = "text"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """Return the text, or end with a sentence about the option."""
        named = "the text" if param is None else param.get_error_hint(ctx).strip("'")
        try:
            return plain_text(str(value), named)
        except InputError as exc:
            self.fail(f"{exc}.", param, ctx)


class PartNumberType(click.ParamType[str]):
    """The number of a part, in its one spelling."""

    name = "text"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """Return the number, or end with a sentence about the option."""
        named = "the part" if param is None else param.get_error_hint(ctx).strip("'")
        try:
            return part_number(str(value), named)
        except InputError as exc:
            self.fail(f"{exc}.", param, ctx)


def _point_in(value: Any, param: click.Parameter | None, ctx: Any) -> Any:
    """Return a number as click reads it, whichever decimal mark it was typed with."""
    if not isinstance(value, str):
        return value
    try:
        return number(value, "it")
    except InputError as exc:
        raise click.BadParameter(f"{exc}; {exc.hint}.", ctx, param) from exc


class NumberType(click.types.FloatParamType):
    """A number with a decimal point or comma."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or end with a sentence about the option."""
        return super().convert(_point_in(value, param, ctx), param, ctx)


class NumberRange(click.FloatRange):
    """Such a number within bounds."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return the number, or end with a sentence about the option."""
        return super().convert(_point_in(value, param, ctx), param, ctx)


def _number_type(kind: click.ParamType[Any]) -> click.ParamType[Any]:
    if isinstance(kind, click.FloatRange):
        return NumberRange(
            kind.min,
            kind.max,
            min_open=kind.min_open,
            max_open=kind.max_open,
            clamp=kind.clamp,
        )
    return NumberType() if isinstance(kind, click.types.FloatParamType) else kind


def take_plain_text(command: click.Command) -> None:
    """Have every option and argument take what people type: plain text, and numbers.

    A number may have a decimal point or comma.

    Args:
        command: The command, or a group with all that is in it.
    """
    for param in command.params:
        if isinstance(param.type, click.types.StringParamType):
            part = param.name == "part"
            param.type = PartNumberType() if part else PlainTextType()
        param.type = _number_type(param.type)
    if isinstance(command, click.Group):
        for below in command.commands.values():
            take_plain_text(below)


def check_arguments(arguments: Sequence[str]) -> None:
    """Let only arguments pass that are text, paths among them.

    Raises:
        InputError: One is not; the sentence names the option that it belongs to.
    """
    for place, argument in enumerate(arguments):
        option, equals, _ = argument.partition("=")
        if not (option.startswith("-") and equals):
            option = arguments[place - 1] if place else ""
        named = option.startswith("-") and option.isascii() and option.isprintable()
        # What a scanner sends between elements and around a code is no text
        typed = argument.replace(FNC1, "").strip(AROUND)
        check_text(typed, option if named else f"argument {place + 1}")
