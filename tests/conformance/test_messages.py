"""What the suite says where a controller is wrong: enough to find the mistake."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from firmware_protocol.checksum import check_digits
from firmware_protocol.conformance.clause import Result, Verdict
from firmware_protocol.conformance.clauses import CLAUSES
from firmware_protocol.conformance.run import run
from firmware_protocol.conformance.subject import Subject
from sim.device import Controller
from sim.orders import Orders

SubjectFor = Callable[..., Subject]


class StraightOn(Orders):
    def count_pending(self, now_us: int) -> None:
        self._pending = None


class NeverTurns(Controller):
    def _start(self, *arguments: object) -> None:
        super()._start(*arguments)  # type: ignore[arg-type]
        self._orders.__class__ = StraightOn


class Shouts(Controller):
    def take_output(self) -> bytes:
        lines = super().take_output().split(b"\n")
        return b"\n".join(x[:-4] + x[-4:].upper() if x else x for x in lines)


class Milliseconds(Controller):
    def clock(self, time_us: int) -> int:
        return super().clock(time_us) // 1000


def failure(subject: Subject, clause_id: str) -> Result:
    clauses = [clause for clause in CLAUSES if clause.id == clause_id]
    (result,) = run(subject, moves=True, clauses=clauses)
    assert result.verdict is Verdict.FAILS
    return result


def test_a_motion_clause_shows_the_order_that_it_sent(subject_for: SubjectFor) -> None:
    result = failure(subject_for(NeverTurns), "10.11")

    assert "(last order: `q" in result.came
    assert " go " in result.came


def test_upper_case_checks_are_named(subject_for: SubjectFor) -> None:
    clauses: Iterable = [clause for clause in CLAUSES if clause.id == "4.1"]
    (result,) = run(subject_for(Shouts), moves=False, clauses=clauses)

    # A check without letters is the same in both
    assert check_digits(b"q0 hail 1") == b"f54c"
    assert result.verdict is Verdict.FAILS
    assert "for its digits are upper-case" in result.came


def test_a_clock_in_another_unit_shows(subject_for: SubjectFor) -> None:
    result = failure(subject_for(Milliseconds), "7.4")

    assert "by its clock, which counts us" in result.expected
    assert result.came.startswith("0.000")


def test_a_stop_too_late_is_told_by_whose_clock(subject_for: SubjectFor) -> None:
    result = failure(subject_for(Milliseconds), "10.30")

    assert "by the controller's own clock" in result.expected
