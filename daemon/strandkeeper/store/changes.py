"""What one entry of a person changes in the record, written in one transaction with its fate."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.live import LiveGrant
from strandkeeper.model.meter_reading import Anchor, Bench, MeterReading
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.rework import Rework
from strandkeeper.store import ledger, rework

__all__ = ["Changes", "write_changes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """Everything is optional; `void_*` are what is taken away."""

    cables: Sequence[Cable] = ()
    strands: Sequence[Strand] = ()
    readings: Sequence[MeterReading] = ()
    anchors: Sequence[Anchor] = ()
    benches: Sequence[Bench] = ()
    reworks: Sequence[Rework] = ()
    lives: Sequence[LiveGrant] = ()
    void_anchors: Sequence[tuple[LinkName, Direction]] = ()
    void_benches: Sequence[LinkName] = ()
    void_lives: Sequence[LinkName] = ()


def write_changes(connection: sqlite3.Connection, changes: Changes) -> None:
    """Enter all of it, inside the caller's transaction."""
    for cable in changes.cables:
        ledger.put_cable(connection, cable)
    for strand in changes.strands:
        ledger.put_strand(connection, strand)
    for reading in changes.readings:
        ledger.put_reading(connection, reading)
    for anchor in changes.anchors:
        ledger.put_anchor(connection, anchor)
    for bench in changes.benches:
        ledger.put_bench(connection, bench)
    for work in changes.reworks:
        rework.put_rework(connection, work)
    for live in changes.lives:
        rework.put_live(connection, live)
    _take_away(connection, changes)


def _take_away(connection: sqlite3.Connection, changes: Changes) -> None:
    for link, direction in changes.void_anchors:
        ledger.drop_anchor(connection, link, direction)
    for link in changes.void_benches:
        ledger.drop_bench(connection, link)
    for link in changes.void_lives:
        rework.drop_live(connection, link)
