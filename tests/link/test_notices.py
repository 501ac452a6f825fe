"""Notices over the link: in order, recalled where they are missing, or told lost."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from firmware_protocol.messages import EdgeNotice, ErrorCode, Source
from rig.link.inbox import Delivery, Inbox, LostNotice
from rig.link.link import Link

from .conftest import ScriptedPort, line


def edge(number: int) -> EdgeNotice:
    return EdgeNotice(
        number=number, lost=0, source=Source.OUT, level=True, position=number, time=1
    )


def body(number: int) -> str:
    return f"n{number} edge 0 out 1 {number} 1"


def drain(link: Link) -> list[Delivery]:
    """Return what comes while there is time enough for every recall."""
    notices = [link.next_notice(0.05) for _ in range(20)]
    return [notice for notice in notices if notice is not None]


# ------------------------------------------------------------------- on the link


def test_a_gap_is_recalled_and_the_order_restored(
    port: ScriptedPort, link: Link
) -> None:
    for number in (1, 4, 5):
        port.say(line(body(number)))
    port.then("a{n} recall 0 6", body(2))
    port.then("a{n} recall 0 6", body(3))

    notices = drain(link)

    assert [notice.number for notice in notices] == [1, 2, 3, 4, 5]
    assert all(isinstance(notice, EdgeNotice) for notice in notices)
    assert port.requests() == ["recall 2", "recall 3"]


def test_a_recalled_notice_that_comes_twice_counts_once(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line(body(2)))
    port.then("a{n} recall 0 3", body(1), (0.002, body(1)), (0.003, body(2)))

    assert [notice.number for notice in drain(link)] == [1, 2]


def test_a_copy_that_differs_from_its_notice_is_told_once(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line(body(1)))
    port.say(line("n1 edge 0 out 1 2 1"), after_s=0.01)

    assert [notice.number for notice in drain(link)] == [1]
    assert link.take_differing_copy() == 1
    assert link.take_differing_copy() is None


def test_a_copy_that_is_equal_says_nothing(port: ScriptedPort, link: Link) -> None:
    for _ in range(2):
        port.say(line(body(1)))

    assert [notice.number for notice in drain(link)] == [1]
    assert link.take_differing_copy() is None


def test_a_forged_number_far_ahead_asks_for_no_endless_recalls(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line(body(20_001)))
    for _ in range(128):
        port.then(f"x{{n}} no {int(ErrorCode.GONE)} 1")

    link.next_notice(0.05)

    assert len(port.requests()) == 128
    assert port.requests()[0] == f"recall {20_001 - 128}"


def test_a_notice_that_is_gone_is_told_lost_in_its_place(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line(body(1)))
    port.say(line(body(3)))
    port.then(f"x{{n}} no {int(ErrorCode.GONE)} 1")

    first, second, third = drain(link)

    assert (first.number, third.number) == (1, 3)
    assert second == LostNotice(number=2)


def test_a_recalled_notice_that_is_damaged_is_recalled_again(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line(body(2)))
    port.then("a{n} recall 0 3")  # and its notice never comes
    port.then("a{n} recall 0 3", body(1))

    assert link.next_notice(0.05) is None
    assert [notice.number for notice in drain(link)] == [1, 2]


def test_a_notice_counted_by_one_look_may_still_be_on_its_way(
    port: ScriptedPort, link: Link
) -> None:
    port.next_notice = 2
    link.look()
    port.say(line(body(1)), after_s=0.03)

    assert [notice.number for notice in drain(link)] == [1]
    assert port.requests() == ["look"]


def test_a_notice_counted_by_two_looks_is_missing(
    port: ScriptedPort, link: Link
) -> None:
    port.next_notice = 2
    link.look()
    port.then(port.look())
    port.then("a{n} recall 0 2", body(1))
    link.look()

    assert [notice.number for notice in drain(link)] == [1]
    assert port.requests() == ["look", "look", "recall 1"]


def test_a_notice_of_a_later_minor_version_fills_its_place(
    port: ScriptedPort, link: Link
) -> None:
    port.say(line("n1 warmth 0 42"))
    port.say(line(body(2)))

    assert [notice.number for notice in drain(link)] == [1, 2]
    assert port.requests() == []


def test_numbers_of_notices_wrap_without_a_gap(port: ScriptedPort) -> None:
    port.next_notice = 65534
    link = Link(port)
    link.greet()
    port.sent.clear()
    for number in (65534, 1, 2):
        port.say(line(body(number)))
    port.then("a{n} recall 65500 3", body(65535))
    port.then("a{n} recall 65500 3", body(0))

    assert [notice.number for notice in drain(link)] == [65534, 65535, 0, 1, 2]
    assert port.requests() == ["recall 65535", "recall 0"]


def test_a_watcher_sees_looks_and_notices(port: ScriptedPort, link: Link) -> None:
    seen: list[object] = []
    link.watcher = seen.append
    link.look()
    port.say(line(body(1)))
    drain(link)

    assert [type(item).__name__ for item in seen] == ["LookAnswer", "EdgeNotice"]


# ------------------------------------------------------------------ in the inbox


@given(
    start=st.integers(0, 65535),
    count=st.integers(1, 60),
    seed=st.integers(0, 2**32 - 1),
    lost_share=st.floats(0.0, 0.6),
)
def test_whatever_is_late_doubled_or_lost_the_order_comes_out_whole(
    start: int, count: int, seed: int, lost_share: float
) -> None:
    chance = random.Random(seed)
    numbers = [(start + i) % 65536 for i in range(count)]
    arriving = [n for n in numbers if chance.random() > lost_share]
    arriving += [n for n in arriving if chance.random() < 0.3]
    chance.shuffle(arriving)
    inbox, taken = Inbox(start), []
    for number in arriving:
        inbox.put(edge(number))
        while (notice := inbox.take()) is not None:
            taken.append(notice.number)
    # Two looks that count them all show what is missing; recalled, it comes
    inbox.announce((start + count) % 65536)
    for number in inbox.announce((start + count) % 65536):
        inbox.put(edge(number))
    while (notice := inbox.take()) is not None:
        taken.append(notice.number)

    assert taken == numbers


def test_an_inbox_never_calls_the_past_missing() -> None:
    inbox = Inbox(100)

    inbox.put(edge(99))
    inbox.announce(90)

    assert inbox.announce(90) == []
    assert inbox.missing() == []
    assert inbox.take() is None


@pytest.mark.parametrize("ahead", [1, 2, 500, 32766])
def test_an_inbox_knows_all_that_is_missing_before_an_early_one(ahead: int) -> None:
    inbox = Inbox(65000)

    inbox.put(edge((65000 + ahead) % 65536))

    assert inbox.missing() == [(65000 + i) % 65536 for i in range(ahead)]
