"""`gapsweep help`: a command, or a topic that belongs to no single command."""

from __future__ import annotations

import click

from rig.cli.help_topics import TOPICS
from rig.cli.options import example
from rig.cli.output import say


@click.command(epilog=example("gapsweep help figures"))
@click.argument("words", metavar="[TOPIC]...", nargs=-1)
@click.pass_context
def command(ctx: click.Context, words: tuple[str, ...]) -> None:
    """Explain a command, such as `lot part`, or a topic.

    Without a TOPIC it lists both.
    """
    root = ctx.find_root()
    if not words:
        topics = "\n".join(f"  {name:<12} {what}" for name, (what, _) in TOPICS.items())
        say(f"{root.get_help()}\n\nTopics of gapsweep help:\n{topics}")
        return
    if len(words) == 1 and words[0] in TOPICS:
        say(TOPICS[words[0]][1]())
        return
    say(_help_of(root, words))


def _help_of(root: click.Context, words: tuple[str, ...]) -> str:
    """Return the help of a command, or of one below it.

    Raises:
        UsageError: There is none of that name.
    """
    found, context = root.command, root
    for word in words:
        below = (
            found.get_command(context, word) if isinstance(found, click.Group) else None
        )
        if below is None:
            import difflib

            names = [*TOPICS] if context is root else []
            if isinstance(found, click.Group):
                names += found.list_commands(context)
            close = difflib.get_close_matches(word, names, n=1)
            offer = f" Did you mean {close[0]!r}?" if close else ""
            raise click.UsageError(f"No help on {word!r}.{offer}", root)
        found, context = below, click.Context(below, parent=context, info_name=word)
    return context.get_help()
