"""A suite that fails nobody proves nothing: wrong controllers and what catches them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from firmware_protocol.conformance.clause import Verdict
from firmware_protocol.conformance.run import run
from firmware_protocol.conformance.subject import Subject
from sim.device import Controller

pytestmark = pytest.mark.long

SubjectFor = Callable[..., Subject]


def test_a_broken_controller_fails_the_clauses_that_it_breaks_and_no_others(
    subject_for: SubjectFor, broken: type[Controller], caught_by: str
) -> None:
    results = list(run(subject_for(broken), moves=True))
    failed = {r.clause.id for r in results if r.verdict is Verdict.FAILS}

    assert failed == set(caught_by.split())
