"""What a person asks for is appended by anyone and done by the daemon alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from strandkeeper.errors import InputError, StoreError
from strandkeeper.model.entry import Entry, EntryKind
from strandkeeper.store import RecordReader, RecordWriter, open_reader

NOTE = Entry(kind=EntryKind.NOTE, who="anna", payload={"text": "Stecker gereinigt é 光", "n": 1})


def test_an_entry_waits_until_the_daemon_applies_or_refuses_it(
    writer: RecordWriter, reader: RecordReader
) -> None:
    first = reader.append_entry(NOTE, at_ms=1_000)
    second = reader.append_entry(Entry(kind=EntryKind.BASELINE, who="ben"), at_ms=2_000)
    assert [stored.id for stored in writer.waiting_entries()] == [first, second]
    assert writer.waiting_entries()[0].entry == NOTE
    writer.apply_entry(first, 3_000)
    writer.refuse_entry(second, "there is no link of that name")
    assert writer.waiting_entries() == []
    refused, applied = reader.entries()
    assert (applied.at_ms, applied.applied_ms, applied.refusal) == (1_000, 3_000, "")
    assert (refused.applied_ms, refused.refusal) == (None, "there is no link of that name")


def test_what_was_decided_stays_decided(writer: RecordWriter, reader: RecordReader) -> None:
    number = reader.append_entry(NOTE, at_ms=1)
    writer.refuse_entry(number, "no")
    writer.apply_entry(number, 5)
    writer.refuse_entry(number, "no again")
    (stored,) = reader.entries()
    assert (stored.applied_ms, stored.refusal) == (None, "no")


def test_numbers_are_never_given_twice(writer: RecordWriter, reader: RecordReader) -> None:
    numbers = [reader.append_entry(NOTE, at_ms=n) for n in range(3)]
    writer._connection.execute("DELETE FROM entry")
    assert reader.append_entry(NOTE, at_ms=9) == max(numbers) + 1


@pytest.mark.parametrize(
    ("kind", "payload"),
    [("poem", "{}"), ("note", "[1]"), ("note", "[" * 1_500 + "]" * 1_500)],
    ids=["a kind of another release", "no object", "too deep"],
)
def test_what_is_no_entry_is_refused_and_stops_none_behind_it(
    writer: RecordWriter, reader: RecordReader, kind: str, payload: str
) -> None:
    """As somebody writes it who has the file and not this program."""
    writer._connection.execute(
        "INSERT INTO entry (kind, payload, who, at_ms) VALUES (?, ?, 'x', 1)", (kind, payload)
    )
    number = reader.append_entry(NOTE, at_ms=2)
    assert [stored.id for stored in writer.waiting_entries()] == [number]
    assert [stored.id for stored in reader.entries()] == [number]
    refused = writer._connection.execute("SELECT refusal FROM entry WHERE at_ms = 1").fetchone()
    assert refused == ("it cannot be read as an entry: enter it again",)


def test_entries_are_found_by_kind_newest_first(reader: RecordReader) -> None:
    for n in range(5):
        reader.append_entry(NOTE, at_ms=n)
        reader.append_entry(Entry(kind=EntryKind.METER, who="x"), at_ms=n)
    assert [s.at_ms for s in reader.entries(kind=EntryKind.NOTE, limit=3)] == [4, 3, 2]


def test_a_payload_that_json_cannot_say_is_refused_in_words(reader: RecordReader) -> None:
    with pytest.raises(InputError) as refused:
        reader.append_entry(Entry(kind=EntryKind.NOTE, who="x", payload={"a": float("nan")}))
    assert refused.value.message.startswith("an entry of kind note holds what JSON cannot say")


def test_after_an_entry_the_reader_is_a_reader_again(reader: RecordReader) -> None:
    reader.append_entry(NOTE)
    assert reader._connection.execute("PRAGMA query_only").fetchone() == (1,)


def test_a_writer_sees_that_something_was_asked(writer: RecordWriter, path: Path) -> None:
    """The daemon's tick: data_version moves when another connection commits, else it does not."""
    watching, asking = open_reader(path), open_reader(path)
    before = watching.data_version()
    assert watching.data_version() == before
    asking.append_entry(NOTE)
    assert watching.data_version() != before
    watching.close()
    asking.close()


def test_an_entry_into_a_locked_record_is_told_in_words(
    writer: RecordWriter, reader: RecordReader
) -> None:
    reader._connection.execute("PRAGMA busy_timeout = 1")
    writer._connection.execute("BEGIN IMMEDIATE")
    with pytest.raises(StoreError, match="was locked by another process"):
        reader.append_entry(NOTE)
    writer._connection.execute("ROLLBACK")
