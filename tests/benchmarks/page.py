"""What the benchmarks found as one page, to be kept and compared with other days."""

from __future__ import annotations

import html
import os
import platform
import statistics
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tests.benchmarks.registry import Cell, Report, Table

ROOT = Path(__file__).parents[2]
_STYLE = """
body { font: 15px/1.45 system-ui, sans-serif; margin: 2rem auto; max-width: 75rem;
       padding: 0 1rem; color: #22262a; background: #fff; }
h1 { font-size: 1.5rem; } h2 { font-size: 1.15rem; margin-top: 2.2rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; margin: .6rem 0 1.2rem; }
caption { text-align: left; font-weight: 600; padding-bottom: .3rem; }
th, td { padding: .15rem .7rem; text-align: right; white-space: nowrap; }
th { border-bottom: 1px solid #888; font-weight: 600; vertical-align: bottom; }
th:first-child, td:first-child, dt { text-align: left; }
.words td, .words th { text-align: left; white-space: normal; }
.spread { color: #667; font-size: .85em; }
.missed { font-weight: 700; color: #8a1f11; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .1rem 1rem; }
dd { margin: 0; }
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """A benchmark that was run, once or several times.

    Attributes:
        name: For `--only`.
        title: One line.
        reports: What each time found; not empty.
        seconds: That all of them took.
    """

    name: str
    title: str
    reports: Sequence[Report]
    seconds: float


def surroundings(times: int) -> dict[str, str]:
    """Say when, of which revision and on which machine figures are taken."""
    at = datetime.now(UTC)
    return {
        "date": f"{at:%Y-%m-%d %H:%M} UTC",
        "revision": _revision(),
        "machine": f"{_processor()}, {os.cpu_count()} processors, {platform.system()}",
        "Python": platform.python_version(),
        "load when it began": " ".join(f"{load:.1f}" for load in os.getloadavg()),
        "each was run": "once" if times == 1 else f"{times} times",
    }


def _revision() -> str:
    def told(*words: str) -> str:
        done = subprocess.run(
            ["git", *words], cwd=ROOT, capture_output=True, text=True, check=False
        )
        return done.stdout.strip()

    revision = told("rev-parse", "--short=12", "HEAD") or "not known"
    changed = told("status", "--porcelain", "--untracked-files=no")
    return f"{revision}, with changes" if changed else revision


def _processor() -> str:
    about = Path("/proc/cpuinfo")
    for line in about.read_text("utf-8").splitlines() if about.is_file() else ():
        name, _, value = line.partition(":")
        if name.strip() == "model name":
            return value.strip()
    return platform.processor() or platform.machine()


def page(ran: Sequence[Ran], known: dict[str, str]) -> str:
    """Return the page as HTML with nothing to fetch."""
    return "\n".join(_parts(ran, known)) + "\n"


def _parts(ran: Sequence[Ran], known: dict[str, str]) -> Iterator[str]:
    yield '<!doctype html>\n<html lang="en">\n<meta charset="utf-8">'
    yield "<title>Gapsweep: figures of its benchmarks</title>"
    yield f"<style>{_STYLE}</style>"
    yield "<h1>Gapsweep: figures of its benchmarks</h1>\n<dl>"
    yield from (f"<dt>{_safe(k)}</dt><dd>{_safe(v)}</dd>" for k, v in known.items())
    yield "</dl>"
    yield (
        "<p>Of several times the median stands here, with half of what they differ by"
        " behind it. Times of motions are by the simulated rig's own clock, the others"
        " by this computer's; processor time depends less on what else runs.</p>"
    )
    yield from _compared(ran)
    for one in ran:
        yield f'<h2 id="{_safe(one.name)}">{_safe(one.name)}: {_safe(one.title)}</h2>'
        yield from _claims(one)
        tables = [report.tables for report in one.reports]
        for same in zip(*tables, strict=True):
            yield from _table(same)
        yield from (f"<p>{_safe(note)}</p>" for note in one.reports[0].notes)
        yield f'<p class="spread">Took {one.seconds:.0f} s.</p>'
    yield "</html>"


def _compared(ran: Sequence[Ran]) -> Iterator[str]:
    rows = [
        [found.what, found.beside, _number([each.ratio for each in same])]
        for one in ran
        for same in zip(*(r.comparisons for r in one.reports), strict=True)
        for found in same[:1]
    ]
    if rows:
        yield "<h2>Beside the floor, and beside other ways</h2>"
        heads = ("what", "beside", "takes so many times as long")
        yield from _rows("", heads, rows, kind="words")


def _claims(one: Ran) -> Iterator[str]:
    rows = []
    for same in zip(*(report.claims for report in one.reports), strict=True):
        held = sum(claim.met for claim in same)
        met = "met" if held == len(same) else f"NOT MET ({held} of {len(same)})"
        mark = met if held == len(same) else f'<span class="missed">{met}</span>'
        rows.append([_safe(same[0].claim), _safe(same[-1].measured), mark])
    if rows:
        yield from _rows("", ("to show", "measured", ""), rows, kind="words", safe=True)


def _table(same: Sequence[Table]) -> Iterator[str]:
    first = same[0]
    rows = [
        [_cell(cells) for cells in zip(*alike, strict=True)]
        for alike in zip(*(table.rows for table in same), strict=True)
    ]
    yield from _rows(first.title, first.columns, rows, safe=True)


def _rows(
    title: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    kind: str = "",
    safe: bool = False,
) -> Iterator[str]:
    yield f'<div class="scroll"><table class="{kind}">'
    if title:
        yield f"<caption>{_safe(title)}</caption>"
    yield f"<tr>{''.join(f'<th>{_safe(head)}</th>' for head in heads)}</tr>"
    for row in rows:
        cells = row if safe else [_safe(cell) for cell in row]
        yield f"<tr>{''.join(f'<td>{cell}</td>' for cell in cells)}</tr>"
    yield "</table></div>"


def _cell(same: Sequence[Cell]) -> str:
    numbers = [one for one in same if isinstance(one, float)]
    if len(numbers) < len(same):
        one = same[0]
        if one is None:
            return "–"
        return ("yes" if one else "NO") if isinstance(one, bool) else _safe(str(one))
    median, _, spread = _number(numbers).partition(" ")
    return f'{median} <span class="spread">{spread}</span>' if spread else median


def _number(same: Sequence[float]) -> str:
    """Return the median; behind it half the range, if there is any."""
    median = f"{statistics.median(same):.4g}"
    half = (max(same) - min(same)) / 2.0
    return f"{median} ±{half:.2g}" if half > 0.0 else median


def _safe(text: str) -> str:
    return html.escape(text)
