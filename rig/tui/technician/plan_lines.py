"""Plans as lines of a table: those on record, and files that nobody has begun."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from rig.catalogue.catalogue import Catalogue
from rig.catalogue.plan_file import Plan, load_plan
from rig.errors import RigError
from rig.records import PlanEntry, PlanState, Reader
from rig.tui.state.local_time import local_cell
from rig.tui.state.status_words import CARE, GOOD, PLAIN, Sign

FOLDER = "plans"
UNFINISHED = Sign("◐", "unfinished", CARE)
DONE = Sign("✓", "done", GOOD)
NOT_BEGUN = Sign("·", "not begun", PLAIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLine:
    """One plan.

    Attributes:
        title: Title that its maker gave the plan.
        state: One of the signs above.
        done: Pairs with a run that counts.
        pairs: All pairs.
        entry: Plan on record; None for a file that nobody has begun.
        plan: What the file says; None for one on record.
        path: The file; None for one on record.
    """

    title: str
    state: Sign
    done: int
    pairs: int
    entry: PlanEntry | None = None
    plan: Plan | None = None
    path: Path | None = None

    def cells(self) -> tuple[str, ...]:
        """Return the texts of the table's columns."""
        entry = self.entry
        begun = "–" if entry is None else local_cell(entry.created_at)
        rig = "–"
        if entry is not None:
            rig = "SIMULATED" if entry.simulated else "real"
        done = f"{self.done} of {self.pairs}"
        return (self.title, str(self.state), done, rig, begun)


HEADS = ("plan", "state", "pairs", "rig", "begun (UTC)")


def read_plans(
    reader: Reader, folder: Path, catalogue: Catalogue
) -> tuple[list[PlanLine], list[RigError]]:
    """Read all plans: unfinished ones first, then files not begun, then the done ones.

    Returns:
        The plans, newest first in each group, and what is wrong with files.

    Raises:
        RecordsError: The records cannot be read.
    """
    entries = reader.plans()
    on_record = [_line(entry, reader) for entry in reversed(entries)]
    known = {entry.toml_text for entry in entries}
    files, errors = [], []
    for path in sorted(folder.glob("*.toml")):
        try:
            plan = load_plan(path, catalogue)
        except RigError as exc:
            errors.append(exc)
            continue
        if plan.text not in known:
            files.append(
                PlanLine(
                    title=plan.title,
                    state=NOT_BEGUN,
                    done=0,
                    pairs=len(plan.runs),
                    plan=plan,
                    path=path,
                )
            )
    unfinished = [line for line in on_record if line.state is UNFINISHED]
    done = [line for line in on_record if line.state is DONE]
    return [*unfinished, *files, *done], errors


def _line(entry: PlanEntry, reader: Reader) -> PlanLine:
    pairs = len(entry.items)
    if entry.state is PlanState.DONE:
        return PlanLine(
            title=entry.title, state=DONE, done=pairs, pairs=pairs, entry=entry
        )
    progress = reader.plan_progress(entry.plan_id)
    done = sum(one.counting is not None for one in progress)
    return PlanLine(
        title=entry.title, state=UNFINISHED, done=done, pairs=pairs, entry=entry
    )
