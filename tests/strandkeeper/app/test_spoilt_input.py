"""The short form of tests/bench/fuzz.py, that it can fail, and what it has found."""

from __future__ import annotations

import asyncio

import pytest
from tests.bench import fuzz

from strandkeeper.errors import DecodeError, InputError
from strandkeeper.jobs.entries import decide
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.ledger_files import from_csv, from_json
from strandkeeper.model.names import LinkName


@pytest.mark.parametrize("target", fuzz.targets(), ids=lambda target: target.name)
def test_spoilt_input_is_read_or_refused_by_the_error_that_is_named(target: fuzz.Target) -> None:
    tally = fuzz.run(target, seconds=30.0, seed=5, most=250)
    assert tally.inputs > 0
    assert tally.findings == {}


def test_spoilt_answers_end_no_client() -> None:
    tally = asyncio.run(fuzz.answers(1.5, 5))
    assert tally.inputs > 0
    assert tally.findings == {}


def test_spoilt_traps_end_no_listener() -> None:
    tally = asyncio.run(fuzz.traps(0.5, 5))
    assert tally.inputs > 0
    assert tally.findings == {}


def test_an_error_that_nobody_named_is_a_finding() -> None:
    def careless(data: bytes) -> None:
        if len(data) % 2:
            raise IndexError(len(data))
        raise DecodeError("as it should")

    tally = fuzz.run(fuzz.Target("x", (b"abcd",), careless, (DecodeError,)), 10.0, 1, most=50)
    assert [name.split(" ")[0] for name in tally.findings] == ["IndexError"]


@pytest.mark.parametrize("kind", EntryKind)
@pytest.mark.parametrize("link", [["a"], {"a": 1}, 5, True, "other"])
def test_an_entry_whose_link_is_no_name_is_refused_in_words(kind: EntryKind, link: object) -> None:
    """Found by spoiling: a list there stopped every entry behind it."""
    stored = StoredEntry(id=1, entry=Entry(kind=kind, who="x", payload={"link": link}), at_ms=1)
    assert "there is no link" in decide(stored, frozenset({LinkName("a")}), 5).refusal


def test_a_ledger_nested_beyond_all_measure_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="that is not JSON"):
        from_json('{"cables": ' + "[" * 5_000)


def test_a_ledger_with_a_stray_carriage_return_is_refused_in_words() -> None:
    """Found by spoiling: the error of the library came out."""
    with pytest.raises(InputError, match="this is no CSV"):
        from_csv("cable,number,label\nshore,1,a\rb\n")
