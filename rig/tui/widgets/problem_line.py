"""What went wrong: one sentence, and what to do about it. Takes no room otherwise."""

from __future__ import annotations

from textual.app import RenderResult
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from rig.tui.rig.rig_events import Problem


class ProblemLine(Widget):
    """Stays until something else is begun."""

    problem: reactive[Problem | None] = reactive[Problem | None](None, layout=True)
    """What went wrong last."""

    def render(self) -> RenderResult:
        """Return sentence and hint."""
        problem = self.problem
        if problem is None:
            return ""
        if problem.stopped:
            text = "The axis was stopped and is held. What was measured is on record."
            parts: list[str | tuple[str, str]] = [("■ STOPPED  ", "bold"), text]
        else:
            parts = [("✗ ", "bold"), _begun(problem.sentence)]
        if problem.hint:
            parts.append(f" {_begun(problem.hint)}")
        return Content.assemble(*parts)

    def watch_problem(self, problem: Problem | None) -> None:
        """Show it, or give the room back."""
        self.display = problem is not None
        self.set_class(problem is not None and problem.stopped, "-stopped")


def _begun(sentence: str) -> str:
    """Return it with a capital and an end; a name keeps its own first letter."""
    first = sentence.split(" ", 1)[0]
    start = first.capitalize() if first.islower() and first.isalpha() else first
    whole = start + sentence[len(first) :]
    return whole if whole.endswith((".", "?")) else f"{whole}."
