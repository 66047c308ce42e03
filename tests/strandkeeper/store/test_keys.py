"""Numbers of links: given once, found again, never more work because the record knows many."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from strandkeeper.errors import StoreError
from strandkeeper.model.names import LinkName
from strandkeeper.store import open_writer
from strandkeeper.store.keys import MOST_LINKS, LinkNumbers


@pytest.fixture
def connection(path: Path) -> Iterator[sqlite3.Connection]:
    """A new record's file by a connection of the test's own."""
    open_writer(path, reserve=False).close()
    connection = sqlite3.connect(path)
    yield connection
    connection.close()


def _steps(connection: sqlite3.Connection, name: str) -> int:
    """How many instructions of the database one look-up takes that gives a number."""
    counted = 0

    def count() -> None:
        nonlocal counted
        counted += 1

    connection.set_progress_handler(count, 1)
    LinkNumbers(connection).get(LinkName(name))
    connection.set_progress_handler(None, 1)
    return counted


def test_a_number_is_given_once_and_found_by_others(connection: sqlite3.Connection) -> None:
    given = LinkNumbers(connection)
    numbers = [given.get(LinkName(name)) for name in ("Barn", "Mill", "Barn")]
    assert numbers == [1, 2, 1]
    found = LinkNumbers(connection)
    assert found.find(LinkName("Mill")) == 2
    assert found.find(LinkName("Shed")) is None
    assert found.name(1) == "Barn"
    assert found.all() == ("Barn", "Mill")


def test_the_thousandth_name_costs_what_the_second_does(connection: sqlite3.Connection) -> None:
    LinkNumbers(connection).get(LinkName("first"))
    second = _steps(connection, "second")
    numbers = LinkNumbers(connection)
    for number in range(1000):
        numbers.get(LinkName(f"link {number}"))
    # The trees of a thousand names are a level or two deeper.
    assert _steps(connection, "the newest") <= 2 * second


def test_one_link_too_many_is_refused_with_the_way_out(connection: sqlite3.Connection) -> None:
    connection.execute("INSERT INTO link (id, name) VALUES (?, 'the last')", (MOST_LINKS,))
    numbers = LinkNumbers(connection)
    assert numbers.get(LinkName("the last")) == MOST_LINKS
    with pytest.raises(StoreError, match="one more") as refused:
        numbers.get(LinkName("one more"))
    assert refused.value.hint is not None
    assert "two configurations" in refused.value.hint
