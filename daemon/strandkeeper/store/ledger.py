"""Cables, strands and what people measured of them."""

from __future__ import annotations

import sqlite3
from typing import Any, Final

from strandkeeper.model.ledger import Cable, Strand, StrandEnd, StrandUse
from strandkeeper.model.meter_reading import Anchor, Bench, MeterKind, MeterReading
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.rework import Rework
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store.rework import reworks

__all__ = [
    "anchors",
    "benches",
    "cables",
    "drop_anchor",
    "drop_bench",
    "everything",
    "meter_readings",
    "put_anchor",
    "put_bench",
    "put_cable",
    "put_reading",
    "put_strand",
    "strands",
]

_ALL: Final = 1_000_000
_CABLE: Final = "name, strands, length_m, fibre, a, b, note"
_STRAND: Final = (
    "cable, number, label, use, link, direction, slack_a_m, slack_b_m, attempts_a, attempts_b, "
    "tested_ms, tested_loss_mdb, note"
)
_READING: Final = (
    "id, at_ms, who, kind, source, wavelength_nm, link, direction, end, cable, strand, cords, "
    "reference_mdbm, reading_mdbm, loss_mdb, limit_mdb, verdict, reported_mdbm, uncertainty_mdb, "
    "note"
)


def _put(
    connection: sqlite3.Connection, table: str, columns: str, cells: tuple[object, ...], keys: str
) -> None:
    names = columns.split(", ")
    changes = ", ".join(f"{n} = excluded.{n}" for n in names if n not in keys.split(", "))
    marks = ", ".join("?" * len(names))
    connection.execute(
        f"INSERT INTO {table} ({columns}) VALUES ({marks}) "
        f"ON CONFLICT ({keys}) DO UPDATE SET {changes}",
        cells,
    )


def _milli(value: Db | Dbm | None) -> int | None:
    return None if value is None else round(value.value * 1000)


def _db(value: int | None) -> Db | None:
    return None if value is None else Db(value / 1000)


def _dbm(value: int | None) -> Dbm | None:
    return None if value is None else Dbm(value / 1000)


def put_cable(connection: sqlite3.Connection, cable: Cable) -> None:
    """Enter a cable, or what is known of it now, inside the caller's transaction."""
    cells = (
        *(cable.name, cable.strands, cable.length_m, cable.fibre),
        *(cable.a, cable.b, cable.note),
    )
    _put(connection, "cable", _CABLE, cells, "name")


def cables(connection: sqlite3.Connection) -> list[Cable]:
    """Every cable, by name."""
    rows = connection.execute(f"SELECT {_CABLE} FROM cable ORDER BY name")
    return [
        Cable(name=name, strands=count, length_m=length, fibre=fibre, a=a, b=b, note=note)
        for name, count, length, fibre, a, b, note in rows
    ]


def put_strand(connection: sqlite3.Connection, strand: Strand) -> None:
    """Enter a strand, or what is known of it now; its cable must be there."""
    a, b = strand.ends
    cells = (
        *(strand.cable, strand.number, strand.label, strand.use.value, strand.link),
        *(strand.direction, a.slack_m, b.slack_m, a.attempts, b.attempts),
        *(strand.tested_ms, _milli(strand.tested_loss), strand.note),
    )
    _put(connection, "strand", _STRAND, cells, "cable, number")


def strands(connection: sqlite3.Connection, cable: str | None = None) -> list[Strand]:
    """The strands of a cable, or of all, by number."""
    rows = connection.execute(
        f"SELECT {_STRAND} FROM strand WHERE ? IS NULL OR cable = ? ORDER BY cable, number",
        (cable, cable),
    )
    return [_strand(row) for row in rows]


def _strand(row: tuple[Any, ...]) -> Strand:
    cable, number, label, use, link, direction, slack_a, slack_b = row[:8]
    tries_a, tries_b, tested_ms, loss, note = row[8:]
    return Strand(
        cable=cable,
        number=number,
        label=label,
        use=StrandUse(use),
        link=None if link is None else LinkName(link),
        direction=None if direction is None else Direction(direction),
        ends=(
            StrandEnd(slack_m=slack_a, attempts=tries_a),
            StrandEnd(slack_m=slack_b, attempts=tries_b),
        ),
        tested_ms=tested_ms,
        tested_loss=_db(loss),
        note=note,
    )


def put_reading(connection: sqlite3.Connection, reading: MeterReading) -> None:
    """Enter what somebody measured; it is never changed afterwards."""
    verdict = None if reading.verdict is None else reading.verdict.value
    cells = (
        *(reading.id, reading.at_ms, reading.who, reading.kind.value, reading.source),
        *(reading.wavelength_nm, reading.link, reading.direction, reading.end),
        *(reading.cable, reading.strand, reading.cords, _milli(reading.reference)),
        *(_milli(reading.reading), _milli(reading.loss), _milli(reading.limit), verdict),
        *(_milli(reading.reported), _milli(reading.uncertainty), reading.note),
    )
    _put(connection, "meter_reading", _READING, cells, "id")


def meter_readings(
    connection: sqlite3.Connection, link: LinkName | None = None
) -> list[MeterReading]:
    """What was measured on a link, or everywhere, newest first."""
    rows = connection.execute(
        f"SELECT {_READING} FROM meter_reading WHERE ? IS NULL OR link = ? "
        "ORDER BY at_ms DESC, id DESC",
        (link, link),
    )
    return [_reading(dict(zip(_READING.split(", "), row, strict=True))) for row in rows]


def _reading(row: dict[str, Any]) -> MeterReading:
    link, direction, end, verdict = row["link"], row["direction"], row["end"], row["verdict"]
    return MeterReading(
        id=row["id"],
        at_ms=row["at_ms"],
        who=row["who"],
        kind=MeterKind(row["kind"]),
        source=row["source"],
        wavelength_nm=row["wavelength_nm"],
        link=None if link is None else LinkName(link),
        direction=None if direction is None else Direction(direction),
        end=None if end is None else End(end),
        cable=row["cable"],
        strand=row["strand"],
        cords=row["cords"],
        reference=_dbm(row["reference_mdbm"]),
        reading=Dbm(row["reading_mdbm"] / 1000),
        loss=_db(row["loss_mdb"]),
        limit=_db(row["limit_mdb"]),
        verdict=None if verdict is None else MeterVerdict(verdict),
        reported=_dbm(row["reported_mdbm"]),
        uncertainty=Db(row["uncertainty_mdb"] / 1000),
        note=row["note"],
    )


def put_anchor(connection: sqlite3.Connection, anchor: Anchor) -> None:
    """Tie a module's figures to a meter; replaces what tied it before."""
    cells = (
        *(anchor.link, anchor.direction.value, anchor.at_ms, _milli(anchor.correction)),
        anchor.module_id,
    )
    columns = "link, direction, at_ms, correction_mdb, module_id"
    _put(connection, "anchor", columns, cells, "link, direction")


def drop_anchor(connection: sqlite3.Connection, link: LinkName, direction: Direction) -> None:
    """The module is another: its figures are not tied to anything any more."""
    connection.execute(
        "DELETE FROM anchor WHERE link = ? AND direction = ?", (link, direction.value)
    )


def anchors(connection: sqlite3.Connection) -> list[Anchor]:
    """Every module that is tied to a meter."""
    rows = connection.execute(
        "SELECT link, direction, at_ms, correction_mdb, module_id FROM anchor ORDER BY 1, 2"
    )
    return [
        Anchor(
            link=LinkName(link),
            direction=Direction(direction),
            at_ms=at_ms,
            correction=Db(correction / 1000),
            module_id=module_id,
        )
        for link, direction, at_ms, correction, module_id in rows
    ]


def put_bench(connection: sqlite3.Connection, bench: Bench) -> None:
    """Keep what a pair of modules says over one short cord; replaces what was kept before."""
    cells = (
        *(bench.link, bench.direction.value, bench.at_ms, _milli(bench.difference)),
        *bench.module_ids,
    )
    columns = "link, direction, at_ms, difference_mdb, module_a, module_b"
    _put(connection, "bench", columns, cells, "link, direction")


def drop_bench(connection: sqlite3.Connection, link: LinkName) -> None:
    """One of the modules is another: the reference of both directions is void."""
    connection.execute("DELETE FROM bench WHERE link = ?", (link,))


def benches(connection: sqlite3.Connection) -> list[Bench]:
    """Every bench reference."""
    rows = connection.execute(
        "SELECT link, direction, at_ms, difference_mdb, module_a, module_b FROM bench ORDER BY 1, 2"
    )
    return [
        Bench(
            link=LinkName(link),
            direction=Direction(direction),
            at_ms=at_ms,
            difference=Db(difference / 1000),
            module_ids=(module_a, module_b),
        )
        for link, direction, at_ms, difference, module_a, module_b in rows
    ]


def everything(
    connection: sqlite3.Connection,
) -> tuple[list[Cable], list[Strand], list[MeterReading], list[Rework]]:
    """The whole ledger, in the order in which `ledger_files.to_json` takes it; for `reader.ask`."""
    return (
        cables(connection),
        strands(connection),
        meter_readings(connection),
        reworks(connection, limit=_ALL),
    )
