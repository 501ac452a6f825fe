"""Documents on record: a number is given once, and one that failed is not used up."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rig.errors import InputError, RecordsError
from rig.records import open_records
from rig.records.document_book import DocumentBook, DocumentKind, DocumentOrder
from rig.records.trail_book import TrailBook

ON_SERVER_TOO = True

ORDER = DocumentOrder(
    kind=DocumentKind.CERTIFICATE,
    number="",
    subject_kind="run",
    subject="20261125-093412-512-7f3a",
    title="Measurement certificate",
    customer="Silo Works",
    customer_order="PO-4711",
    replaces="",
    simulated=True,
    issued_at=datetime(2026, 11, 25, 10, 0, tzinfo=UTC),
)


def text_of(number: str) -> str:
    return f"document {number} µm"


def test_the_records_count_numbers_by_year(path: Path) -> None:
    later = replace(ORDER, issued_at=datetime(2027, 1, 2, tzinfo=UTC))
    with open_records(path) as store:
        book = DocumentBook(store)
        found = [book.issue(one, text_of) for one in (ORDER, ORDER, later, ORDER)]

        assert [one.number for one in found] == [
            "C-2026-0001",
            "C-2026-0002",
            "C-2027-0001",
            "C-2026-0003",
        ]
        assert sorted(one.number for one in book.every()) == sorted(
            one.number for one in found
        )
        first = book.every()[0]

    assert first == found[0]
    assert first.sha256 == hashlib.sha256(text_of("C-2026-0001").encode()).hexdigest()
    assert (first.customer, first.customer_order) == ("Silo Works", "PO-4711")


@pytest.mark.parametrize("again", ["QM 17/3", "qm 17/3", "QM17/3", "QM  17/3"])
def test_a_number_of_a_person_is_given_once_however_it_is_spelled(
    path: Path, again: str
) -> None:
    with open_records(path) as store:
        book = DocumentBook(store)
        book.issue(replace(ORDER, number="QM 17/3"), text_of)

        with pytest.raises(InputError, match=r"QM 17/3 was given on 2026-11-25 to run"):
            book.issue(replace(ORDER, number=again), text_of)

        assert len(book.every()) == 1


def test_a_number_that_a_person_took_is_passed_over(path: Path) -> None:
    with open_records(path) as store:
        book = DocumentBook(store)
        book.issue(replace(ORDER, number="c-2026-0001"), text_of)

        assert book.issue(ORDER, text_of).number == "C-2026-0002"


def test_a_document_that_cannot_be_written_takes_no_number(path: Path) -> None:
    def fail(number: str) -> str:
        raise InputError(f"{number} cannot be written")

    with open_records(path) as store:
        book = DocumentBook(store)
        with pytest.raises(InputError, match="C-2026-0001 cannot be written"):
            book.issue(ORDER, fail)

        assert book.every() == []
        assert book.issue(ORDER, text_of).number == "C-2026-0001"


def test_a_replaced_document_must_be_on_record(path: Path) -> None:
    with open_records(path) as store:
        book = DocumentBook(store)
        with pytest.raises(RecordsError, match="no document C-2026-0001"):
            book.issue(replace(ORDER, replaces="C-2026-0001"), text_of)
        book.issue(ORDER, text_of)

        found = book.issue(replace(ORDER, replaces="c-2026-0001"), text_of)

    assert found.replaces == "c-2026-0001"


def test_who_issued_a_document_stands_in_the_trail(path: Path) -> None:
    with open_records(path) as store:
        issued = DocumentBook(store).issue(replace(ORDER, person="A. Novak"), text_of)
        entry = list(TrailBook(store).entries())[-1]

    assert (entry.kind, entry.subject, entry.action) == (
        "document",
        "C-2026-0001",
        "issued",
    )
    assert entry.person == "A. Novak"
    assert entry.after is not None
    assert entry.after["document"]["sha256"] == issued.sha256


def test_a_number_that_is_too_long_is_refused(path: Path) -> None:
    with open_records(path) as store, pytest.raises(InputError, match="at most 40"):
        DocumentBook(store).issue(replace(ORDER, number="9" * 41), text_of)


def test_two_that_issue_at_once_take_two_numbers(path: Path) -> None:
    with open_records(path):
        pass
    numbers: list[str] = []
    gate = threading.Barrier(2)

    def issue() -> None:
        with open_records(path) as store:
            gate.wait()
            book = DocumentBook(store)
            numbers.extend(book.issue(ORDER, text_of).number for _ in range(5))

    workers = [threading.Thread(target=issue) for _ in range(2)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()

    assert sorted(numbers) == [f"C-2026-{n:04d}" for n in range(1, 11)]
