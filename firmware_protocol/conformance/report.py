"""What came of the clauses, for a reader and for a program."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from firmware_protocol.conformance.clause import Result, Verdict
from firmware_protocol.messages import MAJOR, MINOR


def line_of(result: Result) -> str:
    """Return what a reader sees of one clause."""
    clause = result.clause
    text = f"{clause.id:<6} {result.verdict.value:<17} {clause.claim}"
    if result.verdict is Verdict.FAILS:
        text += f"\n{'':7}expected: {result.expected}\n{'':7}came:     {result.came}"
    if result.verdict is Verdict.NOT_APPLICABLE:
        text += f"\n{'':7}because {result.reason}"
    return text


def failures_of(results: Sequence[Result]) -> str:
    """Return once more what does not conform, for the end of a long report."""
    failed = [line_of(r) for r in results if r.verdict is Verdict.FAILS]
    return "\n".join(["", "What does not conform:", *failed, "", ""]) if failed else ""


def summary_of(results: Sequence[Result]) -> str:
    """Return the counts in one line."""
    count = Counter(result.verdict for result in results)
    parts = ", ".join(f"{count[verdict]} {verdict.value}" for verdict in Verdict)
    return f"{len(results)} clauses: {parts}"


def document_of(name: str, results: Sequence[Result]) -> str:
    """Return everything as one JSON document."""
    count = Counter(result.verdict for result in results)
    return json.dumps(
        {
            "subject": name,
            "protocol": f"{MAJOR}.{MINOR}",
            "clauses": len(results),
            **{verdict.name.lower(): count[verdict] for verdict in Verdict},
            "results": [
                {
                    "id": result.clause.id,
                    "section": result.clause.section,
                    "claim": result.clause.claim,
                    "verdict": result.verdict.value,
                    "expected": result.expected,
                    "came": result.came,
                    "reason": result.reason,
                }
                for result in results
            ],
        },
        indent=2,
        ensure_ascii=False,
    )


def status_of(results: Sequence[Result]) -> int:
    """Return the exit status: 1 if a clause is not conformed to, or none could be."""
    verdicts = {result.verdict for result in results}
    good = Verdict.FAILS not in verdicts and Verdict.CONFORMS in verdicts
    return 0 if good else 1
