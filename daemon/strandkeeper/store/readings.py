"""Raw rows: an EndRow to scaled integers and back, append, read.

Scaling: 0.001 dBm, 0.001 mA, 0.01 °C, 0.0001 V: what modules report (SFF-8472: 0.1 µW, 2 µA,
1/256 °C, 100 µV) or finer, but for temperature, which no module knows to 0.01 °C. What kind of
power it is stands in a column of its own.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from typing import Any, Final

from strandkeeper.model.names import End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, NoLight, Power
from strandkeeper.model.reading import (
    AdminStatus,
    Deltas,
    EndRow,
    Media,
    OperStatus,
    OpticalReading,
)
from strandkeeper.optics.units import Dbm
from strandkeeper.store.keys import END_SLOTS, ModuleNumbers, row_id
from strandkeeper.store.meta import HOURS_UNTIL, get_number
from strandkeeper.store.rollups import HOUR_MS, hour_id, hour_start

__all__ = [
    "Cells",
    "decode_power",
    "decode_row",
    "encode_power",
    "encode_row",
    "insert_rows",
    "latest_row",
    "newest_ms",
    "rows_between",
]

Cells = tuple[Any, ...]  # one table row as SQLite gives it

MEASURED: Final = 0
NO_LIGHT_SEEN: Final = 1
NOTHING_REPORTED: Final = 2

# Whatever an agent says, a row must fit the file and sums of rows must not overflow: 2^48 octets
# between two polls are 75 Tbit/s, a difference that is larger is not known.
MOST_FIGURE: Final = 1e6
MOST_COUNT: Final = (1 << 48) - 1

COLUMNS: Final = (
    "id, answered, rx_kind, rx_mdbm, tx_kind, tx_mdbm, bias_ua, temp_cc, vcc_100uv, oper, admin, "
    "uptime_cs, last_change_cs, media, module, in_octets, out_octets, in_frames, fcs_errors, "
    "symbol_errors, by_trap"
)
# A row that is already there is left alone: a batch whose commit was in doubt can be written again.
INSERT: Final = (
    f"INSERT INTO reading ({COLUMNS}) VALUES ({', '.join('?' * 21)}) ON CONFLICT (id) DO NOTHING"
)
SELECT: Final = (
    "SELECT reading.id, answered, rx_kind, rx_mdbm, tx_kind, tx_mdbm, bias_ua, temp_cc, vcc_100uv, "
    "oper, admin, uptime_cs, last_change_cs, media, module.text, in_octets, out_octets, "
    "in_frames, fcs_errors, symbol_errors, by_trap "
    "FROM reading LEFT JOIN module ON module.id = module"
)
NO_OPTICS: Final = (None,) * 7
NO_DELTAS: Final = Deltas()
LOOK_BACK_MS: Final = 120_000
CHUNK_ROWS: Final = 5000


def encode_power(power: Power) -> tuple[int, int | None]:
    """A power as its kind and, if measured, 0.001 dBm. What no module can measure is no report."""
    if isinstance(power, Measured):
        mdbm = _scaled(power.power.value, 1000)
        return (NOTHING_REPORTED if mdbm is None else MEASURED), mdbm
    return (NO_LIGHT_SEEN if isinstance(power, NoLight) else NOTHING_REPORTED), None


def decode_power(kind: int, mdbm: int | None) -> Power:
    """The power of a kind and 0.001 dBm."""
    if mdbm is not None:
        return Measured(Dbm(mdbm / 1000))
    return NO_LIGHT if kind == NO_LIGHT_SEEN else NOT_REPORTED


def _scaled(value: float | None, factor: int) -> int | None:
    if value is None or not -MOST_FIGURE < value < MOST_FIGURE:  # NaN is neither
        return None
    return round(value * factor)


def _counted(value: int | None) -> int | None:
    return None if value is None or value > MOST_COUNT else value


def _unscaled(value: int | None, factor: int) -> float | None:
    return None if value is None else value / factor


def _encode_optics(optics: OpticalReading) -> Cells:
    return (
        *encode_power(optics.rx),
        *encode_power(optics.tx),
        _scaled(optics.bias_ma, 1000),
        _scaled(optics.temp_c, 100),
        _scaled(optics.vcc_v, 10_000),
    )


def encode_row(number: int, row: EndRow, module: int | str | None) -> Cells:
    """The cells of one row, in the order of COLUMNS; `module` stands as it is given."""
    optics = NO_OPTICS if row.optics is None else _encode_optics(row.optics)
    deltas = row.deltas
    return (
        row_id(row.time_ms, number),
        int(row.answered),
        *optics,
        row.oper,
        row.admin,
        row.uptime_cs,
        row.last_change_cs,
        row.media,
        module,
        _counted(deltas.in_octets),
        _counted(deltas.out_octets),
        _counted(deltas.in_frames),
        _counted(deltas.fcs_errors),
        _counted(deltas.symbol_errors),
        int(row.by_trap),
    )


def _decode_optics(cells: Cells) -> OpticalReading | None:
    if cells[2] is None:
        return None
    return OpticalReading(
        rx=decode_power(cells[2], cells[3]),
        tx=decode_power(cells[4], cells[5]),
        bias_ma=_unscaled(cells[6], 1000),
        temp_c=_unscaled(cells[7], 100),
        vcc_v=_unscaled(cells[8], 10_000),
    )


def _decode_deltas(cells: Cells) -> Deltas:
    if cells == (None,) * 5:
        return NO_DELTAS
    return Deltas(
        in_octets=cells[0],
        out_octets=cells[1],
        in_frames=cells[2],
        fcs_errors=cells[3],
        symbol_errors=cells[4],
    )


def decode_row(cells: Cells) -> EndRow:
    """The row of cells in the order of COLUMNS, with the module's text in place of its number."""
    return EndRow(
        time_ms=cells[0] // END_SLOTS,
        end=End(cells[0] & 1),
        answered=bool(cells[1]),
        optics=_decode_optics(cells),
        oper=None if cells[9] is None else OperStatus(cells[9]),
        admin=None if cells[10] is None else AdminStatus(cells[10]),
        uptime_cs=cells[11],
        last_change_cs=cells[12],
        media=None if cells[13] is None else Media(cells[13]),
        module_id=cells[14],
        deltas=_decode_deltas(cells[15:20]),
        by_trap=bool(cells[20]),
    )


def insert_rows(
    connection: sqlite3.Connection, modules: ModuleNumbers, rows: Iterable[tuple[int, EndRow]]
) -> int:
    """Write rows of (end number, row) inside the caller's transaction; how many were new."""
    cells = [encode_row(number, row, modules.get(row.module_id)) for number, row in rows]
    return connection.executemany(INSERT, cells).rowcount


def newest_ms(connection: sqlite3.Connection) -> int | None:
    """The record time of the newest row in the file."""
    newest = connection.execute("SELECT max(id) FROM reading").fetchone()[0]
    return None if newest is None else newest // END_SLOTS


def latest_row(
    connection: sqlite3.Connection, number: int, *, with_optics: bool = False
) -> EndRow | None:
    """The newest row of one end; `with_optics`: the newest that says something of the optics.

    An end that is polled has one in the last two minutes. For any other the hours, which are
    clustered by end, say where to look, so that the rows of all other ends are not searched.
    """
    newest = newest_ms(connection)
    if newest is None:
        return None
    summed_ms = get_number(connection, HOURS_UNTIL) or 0
    lately = max(0, newest - LOOK_BACK_MS)
    looks = [(lately, newest + 1), (min(summed_ms, lately), lately)]
    looks += _last_hour(connection, number, with_optics=with_optics)
    also = " AND rx_kind IS NOT NULL" if with_optics else ""
    query = (
        f"{SELECT} WHERE reading.id >= ? AND reading.id < ? AND reading.id & 65535 = ?{also} "
        "ORDER BY reading.id DESC LIMIT 1"
    )
    for from_ms, to_ms in looks:
        cells = connection.execute(query, (row_id(from_ms), row_id(to_ms), number)).fetchone()
        if cells is not None:
            return decode_row(cells)
    return None


def _last_hour(
    connection: sqlite3.Connection, number: int, *, with_optics: bool
) -> list[tuple[int, int]]:
    """The last hour that has a row of the end, as a period; none if no hour has."""
    also = " AND rx_n + rx_no_light + rx_not_reported > 0" if with_optics else ""
    found = connection.execute(
        f"SELECT id FROM hours WHERE id >= ? AND id < ?{also} ORDER BY id DESC LIMIT 1",
        (hour_id(number, 0), hour_id(number + 1, 0)),
    ).fetchone()
    if found is None:
        return []
    start = hour_start(found[0])
    return [(start, start + HOUR_MS)]


def rows_between(
    connection: sqlite3.Connection, numbers: tuple[int, int], from_ms: int, to_ms: int
) -> Iterator[list[EndRow]]:
    """The rows of one link with from_ms <= time < to_ms in order of time, in chunks."""
    query = (
        f"{SELECT} WHERE reading.id >= ? AND reading.id < ? AND reading.id & 65535 IN (?, ?) "
        f"ORDER BY reading.id LIMIT {CHUNK_ROWS}"
    )
    start, end = row_id(from_ms), row_id(to_ms)
    while True:
        cells = connection.execute(query, (start, end, *numbers)).fetchall()
        if not cells:
            return
        yield [decode_row(row) for row in cells]
        start = cells[-1][0] + 1
