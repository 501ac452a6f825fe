"""Text that is given is text: every option, every cell and every key, or a sentence.

What counts as no text: Unicode general categories Cc, Cs, Zl and Zp, and the marks of
direction in Unicode Standard Annex 9, as Python's unicodedata has them.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import unicodedata
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from rig.cli.main import COMMANDS
from rig.cli.main import gapsweep as program
from rig.errors import InputError
from rig.model.plain_text import LONGEST_TEXT, escaped_json, plain_text, shown
from tests.patience import PATIENCE_S

Gapsweep = Callable[..., Any]
DIRECTIONS = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
PAINT = "A3\x1b[1A\x1b[2KA2 8.00000 conforms"
TURNED = "A3\u202esmrofnoc"


def is_unfit(sign: str) -> bool:
    category = unicodedata.category(sign)
    turns = unicodedata.bidirectional(sign) in DIRECTIONS
    return category in ("Cc", "Cs", "Zl", "Zp") or turns


def every_sign() -> Iterator[str]:
    return map(chr, range(sys.maxunicode + 1))


def test_every_control_character_and_mark_of_direction_is_refused() -> None:
    unfit = [sign for sign in every_sign() if is_unfit(sign)]
    for sign in unfit:
        with pytest.raises(InputError, match="as character 2"):
            plain_text(f"a{sign}b", "the part")

    assert len(unfit) > 2000


def test_letters_digits_and_signs_of_every_script_pass() -> None:
    for sign in every_sign():
        if unicodedata.category(sign)[0] in "LNPS":
            normal = unicodedata.normalize("NFC", f"a{sign}b")
            assert plain_text(f" a{sign}b ", "the part") == normal


def test_two_ways_to_write_a_letter_are_one() -> None:
    assert plain_text("u\u0308ber", "the part") == "\u00fcber"


def options() -> Iterator[tuple[tuple[str, ...], click.Parameter]]:
    """Return every option and argument that takes text, from the table of commands."""

    def below(
        path: tuple[str, ...], command: click.Command
    ) -> Iterator[tuple[tuple[str, ...], click.Parameter]]:
        for param in command.params:
            if not getattr(param, "is_flag", False):
                yield path, param
        if isinstance(command, click.Group):
            for name, inner in command.commands.items():
                yield from below((*path, name), inner)

    context = click.Context(program)
    for name in COMMANDS:
        command = program.get_command(context, name)
        assert command is not None
        yield from below((name,), command)


ALL = list(options())


@pytest.mark.parametrize("text", [PAINT, TURNED], ids=["escape", "direction"])
def test_every_option_and_argument_refuses_what_is_no_text(
    gapsweep: Gapsweep, text: str
) -> None:
    for path, param in ALL:
        given = [param.opts[0], text] if isinstance(param, click.Option) else [text]
        outcome = gapsweep(*path, *given)

        assert outcome.status == 2, (path, param.name)
        assert "which is not seen" in outcome.err or "control" in outcome.err
        assert "\x1b" not in outcome.err
        assert "\u202e" not in outcome.err

    assert len(ALL) > 100


def test_every_text_option_is_of_the_one_type() -> None:
    # That of the library would let through what the environment brings
    strays = [
        (path, param.name)
        for path, param in ALL
        if isinstance(param.type, click.types.StringParamType)
    ]

    assert strays == []


def test_what_the_environment_brings_is_refused_too(
    gapsweep: Gapsweep, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GAPSWEEP_RIG", "sim://\x1b[2J")

    outcome = gapsweep("check")

    assert outcome.status == 2
    assert "U+001B" in outcome.err
    assert "\x1b" not in outcome.err


@pytest.mark.parametrize("option", ["--part", "--note", "--records", "--catalogue"])
def test_an_invalid_byte_in_an_option_is_told_in_a_sentence(option: str) -> None:
    code = "from rig.cli.main import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "sweep", "--rig", "sim://", option, b"A\xff3"],
        capture_output=True,
        check=False,
        timeout=PATIENCE_S,
        env={**os.environ, "PYTHONUTF8": "1"},
    )

    assert done.returncode == 2
    told = done.stderr.decode()
    assert told.startswith(f"gapsweep: {option} holds a byte that is not UTF-8")
    assert "Traceback" not in told


def test_an_endless_option_is_refused(gapsweep: Gapsweep) -> None:
    outcome = gapsweep("sweep", "--rig", "sim://", "--note", "x" * (LONGEST_TEXT + 1))

    assert outcome.status == 2
    assert f"at most {LONGEST_TEXT}" in outcome.err


@pytest.mark.parametrize("text", [PAINT, TURNED], ids=["escape", "direction"])
def test_a_verdict_cannot_be_painted_over_from_a_table(
    gapsweep: Gapsweep, own_place: Path, text: str
) -> None:
    spoof = own_place / "spoof.csv"
    spoof.write_text(f"part,value\nA1,8.0\nA2,5.0\n{text},8.0\n", "utf-8")

    outcome = gapsweep("batch", "--from", spoof, "--lower", 7.5, "--upper", 8.5)

    assert outcome.status == 2
    assert f"{spoof}, line 4: a cell holds U+" in outcome.sentence
    assert "\x1b" not in outcome.out + outcome.err
    assert "\u202e" not in outcome.out + outcome.err


def test_a_plan_with_a_title_that_is_no_text_is_refused(
    gapsweep: Gapsweep, own_place: Path
) -> None:
    plan = own_place / "plan.toml"
    plan.write_text(
        'title = "Week\\u001b[2J"\n[[run]]\nsensors = ["level-18"]\n'
        'targets = ["steel"]\n',
        "utf-8",
    )

    outcome = gapsweep("run", plan, "--rig", "sim://")

    assert outcome.status == 2
    assert "line 1: field 'title' holds U+001B" in outcome.sentence


def test_what_is_shown_and_printed_obeys_nobody() -> None:
    for sign in every_sign():
        if is_unfit(sign) and sign not in "\n\t":
            assert shown(f"a{sign}b") == "a\ufffdb"
            printed = escaped_json(json.dumps({"a": sign}, ensure_ascii=False))
            assert sign not in printed
            assert json.loads(printed) == {"a": sign}
    assert shown("two\nlines\tand µ") == "two\nlines\tand µ"
