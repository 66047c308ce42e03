"""A state survives as bytes; another version or damage is refused by name; callers' states stay."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from strandkeeper.analysis import engine
from strandkeeper.analysis.state_codec import StateVersionError
from strandkeeper.errors import DecodeError
from strandkeeper.model.block import Block
from strandkeeper.model.names import End
from strandkeeper.model.power import Measured
from strandkeeper.model.reading import EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm

Build = Callable[..., Any]


def test_another_version_is_refused_with_both_versions_named(watch: Build) -> None:
    data = engine.encode(watch().run(10).state)
    with pytest.raises(StateVersionError, match="version 250, this release needs"):
        engine.decode(bytes([250]) + data[1:])
    with pytest.raises(StateVersionError, match="version nothing"):
        engine.decode(b"")


def test_a_damaged_state_is_refused_at_every_length(watch: Build) -> None:
    data = engine.encode(watch().run(60).state)
    for length in range(1, len(data) - 1, 7):
        with pytest.raises(DecodeError):
            engine.decode(data[:length])


def test_a_state_handed_in_is_never_altered(watch: Build) -> None:
    link = watch().run(26 * 60)
    before = engine.encode(link.state)
    later = link.state
    row = EndRow(time_ms=link.verdict.at_ms + 86_400_000, end=End.A, oper=OperStatus.DOWN)
    engine.advance(link.facts, later, Block.from_rows([row] * 3))
    assert engine.encode(later) == before


def test_a_state_holds_no_part_of_the_block_that_it_came_from(watch: Build) -> None:
    """A view of an array keeps all of it: a thousand links judged anew held 270 MB so."""
    link = watch().run(60)
    lit = OpticalReading(rx=Measured(Dbm(-9.0)), tx=Measured(Dbm(-5.0)))
    rows = [
        EndRow(time_ms=link.verdict.at_ms + 30_000 * number, end=end, optics=lit)
        for number in range(1, 1000)
        for end in End
    ]
    state, _ = engine.advance(link.facts, link.state, Block.from_rows(rows))
    arrays = list(_arrays(state))
    assert len(arrays) > 10
    assert [a.shape for a in arrays if a.base is not None and a.base.nbytes > a.nbytes] == []


def _arrays(value: Any) -> Iterator[np.ndarray]:
    if isinstance(value, np.ndarray):
        yield value
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _arrays(item)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _arrays(getattr(value, field.name))


def test_the_state_stays_small(watch: Build) -> None:
    link = watch()
    for _ in range(10):
        link.run(24 * 60, every_s=60)
    assert len(engine.encode(link.state)) < 40_000
