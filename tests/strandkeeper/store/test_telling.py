"""A step and its messages are one transaction; a full disk holds them back and loses none."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from strandkeeper.model.alert import Alert, AlertEvent, AlertState, Transition
from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.message import Message, MessageKind, Outgoing, OutgoingState
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.silence import Silence
from strandkeeper.store import RecordReader, open_reader, open_writer
from strandkeeper.store.batch import Outcome
from strandkeeper.store.telling import KEPT_MS, MOST_HELD, Telling, TellingBatch

LINK = LinkName("Lab to pump house")
FINDING = Finding(
    link=LINK, kind=FindingKind.NO_ANSWER, severity=Severity.WARNING, since_ms=5, end=End.B
)
ALERT = Alert(
    number=1,
    finding=FINDING,
    state=AlertState.PENDING,
    began_ms=5,
    changed_ms=6,
    held_from_ms=5,
)
SEEN = Transition(
    alert=1, at_ms=6, before=None, event=AlertEvent.SEEN, after=AlertState.PENDING, who=""
)


def outgoing(order: int, target: str = "phone", key: str = "k1") -> Outgoing:
    message = Message(
        key=key,
        kind=MessageKind.RAISED,
        time_ms=1_795_000_000_000,
        severity=Severity.WARNING,
        title="Lab: ö",
        text="Lab: ö\nzwei",
        link=LINK,
        wakes=True,
        facts={"alert": 1, "names": {"a": "Lab"}},
    )
    return Outgoing(order=order, target=target, message=message, not_before_ms=7)


FIRST = TellingBatch(alerts=[ALERT], steps=[SEEN], messages=[outgoing(1), outgoing(2, "log")])


@pytest.fixture
def reader(path: Path) -> Iterator[RecordReader]:
    open_writer(path, reserve=False).close()
    reader = open_reader(path)
    yield reader
    reader.close()


def test_what_was_entered_comes_back_as_it_was(path: Path, reader: RecordReader) -> None:
    writer = open_writer(path, reserve=False)
    telling, before = writer.telling()
    assert (before.alerts, before.waiting, before.last_number, before.last_order) == ([], [], 0, 0)
    silence = Silence(link=LINK, from_ms=1, until_ms=9, who="anna", why="rework")
    assert telling.write(replace(FIRST, silences=[silence])).written
    writer.close()
    again = open_writer(path, reserve=False)
    _, state = again.telling()
    again.close()
    assert list(state.alerts) == [ALERT]
    assert list(state.waiting) == [outgoing(1), outgoing(2, "log")]
    assert list(state.silences) == [silence]
    assert (state.last_number, state.last_order) == (1, 2)
    assert reader.alert_steps(1) == [SEEN]
    assert reader.alerts() == reader.open_alerts() == [ALERT]


def test_the_same_key_is_entered_once_for_a_target(path: Path, reader: RecordReader) -> None:
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    telling.write(FIRST)
    telling.write(TellingBatch(messages=[outgoing(3)]))
    writer.close()
    assert [m.order for m in reader.messages()] == [2, 1]


def test_a_batch_of_which_one_part_fails_leaves_nothing(path: Path, reader: RecordReader) -> None:
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    stray = replace(SEEN, alert=99)  # a step of an alert that is not there
    with pytest.raises(sqlite3.IntegrityError):
        telling.write(replace(FIRST, steps=[SEEN, stray]))
    writer.close()
    assert (reader.alerts(), reader.messages(), reader.alert_steps(1)) == ([], [], [])


def test_two_open_alerts_of_one_subject_cannot_be(path: Path) -> None:
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    telling.write(FIRST)
    with pytest.raises(sqlite3.IntegrityError):
        telling.write(TellingBatch(alerts=[replace(ALERT, number=2)]))
    writer.close()


def test_what_could_not_be_written_is_entered_later_with_its_fate(
    path: Path, reader: RecordReader
) -> None:
    """Another process holds the file locked, as an import may, or no room is left on the disk."""
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    writer._connection.execute("PRAGMA busy_timeout = 50")
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    outcome = telling.write(FIRST)
    assert (outcome.written, telling.holds) == (False, True)
    assert "locked by another process" in outcome.trouble
    gone = replace(
        outgoing(1), state=OutgoingState.DELIVERED, attempts=1, done_ms=1_795_000_001_000
    )
    assert not telling.write(TellingBatch(fates=[gone])).written
    other.execute("ROLLBACK")
    other.close()
    assert telling.write(TellingBatch()).written
    writer.close()
    assert reader.alerts() == [ALERT]
    assert {m.order: m.state for m in reader.messages()} == {
        1: OutgoingState.DELIVERED,
        2: OutgoingState.WAITING,
    }


def test_what_waits_for_the_disk_is_bounded_and_what_had_to_go_is_counted() -> None:
    no_room = Outcome(written=False, trouble="the disk is full")
    telling = Telling(lambda _work: no_room)
    for number in range(MOST_HELD + 3):
        telling.write(TellingBatch(watched_until_ms=number))
    assert telling.lost == 3
    assert telling.holds


def test_messages_that_went_out_are_forgotten_after_their_time(
    path: Path, reader: RecordReader
) -> None:
    writer = open_writer(path, reserve=False)
    telling, _ = writer.telling()
    telling.write(FIRST)
    telling.write(
        TellingBatch(fates=[replace(outgoing(1), state=OutgoingState.DELIVERED, done_ms=10)])
    )
    telling.write(TellingBatch(watched_until_ms=KEPT_MS + 11))
    writer.close()
    assert [m.order for m in reader.messages()] == [2]
