"""What README.md says of figures and commands is true of the product."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from rig.catalogue.bench_file import load_bench
from rig.cli.main import COMMANDS, gapsweep
from rig.model.figure_kinds import FIGURE_KINDS

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")


def test_the_table_of_figures_is_that_of_the_product() -> None:
    expected = [
        f"| {kind.name} | {kind.symbol} | {kind.unit} | {kind.meaning} |"
        for kind in FIGURE_KINDS
    ]
    _, _, after = README.partition(
        "| figure | symbol | unit | meaning |\n|---|---|---|---|\n"
    )

    rows = after.partition("\n\n")[0].splitlines()

    assert rows == expected


def test_every_command_that_the_readme_gives_exists() -> None:
    given = set(re.findall(r"(?m)^(?:\.venv/bin/)?gapsweep ([a-z-]+)", README))

    assert len(given) > 8
    assert given <= set(COMMANDS)


def blocks(language: str) -> list[str]:
    """Return the blocks of code in a language, in order."""
    return re.findall(rf"(?ms)^```{language}\n(.*?)^```", README)


def commands() -> list[list[str]]:
    """Return the words behind `gapsweep` of every command in the blocks."""
    text = "\n".join(blocks("sh")).replace("\\\n", " ")
    lines = [shlex.split(line, comments=True) for line in text.splitlines()]
    return [words[1:] for words in lines if words[:1] == ["gapsweep"]]


def files_written() -> set[str]:
    """Return the files that a block shows by its first line, or a command writes."""
    shown = re.findall(r"(?m)^```\w+\n# ([\w.]+)$", README)
    made = re.findall(r"> ([\w.]+)$", "\n".join(blocks("sh")), re.MULTILINE)
    return {*shown, *made}


def parsed(words: list[str]) -> click.Context:
    """Parse a command as the program does, and carry out nothing."""
    command: click.Command = gapsweep
    # A command keeps its help option as the first context has it
    settings = command.context_settings
    context = click.Context(command, info_name="gapsweep", **settings)
    while isinstance(command, click.Group):
        name, found, words = command.resolve_command(context, words)
        assert found is not None
        command = found
        if isinstance(command, click.Group):
            context = click.Context(command, parent=context, info_name=name)
    return command.make_context(name, words, parent=context)


@pytest.mark.parametrize("words", commands(), ids=" ".join)
def test_every_command_in_a_block_is_taken_as_it_stands(
    words: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GAPSWEEP_RIG", "sim://")  # as the block sets it

    assert parsed(words).params is not None


def test_a_command_that_is_not_taken_is_noticed() -> None:
    with pytest.raises(click.UsageError):
        parsed(["sweep", "--sensors", "level-18"])


def test_every_file_that_a_command_reads_is_shown_or_made_before() -> None:
    made = files_written()
    for words in commands():
        out = {words[i + 1] for i, word in enumerate(words) if word in WRITING}
        read = {
            word
            for word in words
            if re.fullmatch(r"[\w-]+\.(toml|csv|json|sqlite)", word)
        }
        made |= out | ({words[-1]} if words[0] == "backup" else set())
        missing = read - made
        assert not missing, f"{' '.join(words)}: nothing makes {missing}"


WRITING = ("--out", "--anchor")


def test_blocks_of_toml_are_what_they_are_said_to_be(tmp_path: Path) -> None:
    from rig.catalogue.catalogue import load_catalogue
    from rig.catalogue.letterhead_file import load_letterhead
    from rig.catalogue.plan_file import load_plan
    from rig.catalogue.product_file import load_products

    readers = {
        "incoming.toml": lambda path: load_plan(path, load_catalogue()),
        "eight-hours.toml": lambda path: load_plan(path, load_catalogue()),
        "products.toml": load_products,
        "bench.toml": load_bench,
        "lab.toml": load_letterhead,
        "own.toml": load_catalogue,
    }
    shown = {}
    for block in blocks("toml"):
        name = block.partition("\n")[0].removeprefix("# ")
        shown[name] = tmp_path / name
        shown[name].write_text(block, "utf-8")

    assert set(shown) == set(readers)
    for name, path in shown.items():
        assert readers[name](path) is not None
