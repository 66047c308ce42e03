"""The history of a link as CSV text: rows in, rows out.

Header: `COLUMNS`, then any of `OPTIONAL`. Time is ISO 8601 with its zone, the end `A` or `B`,
`no-light` in a power cell means no light, oper_status is up, down or unknown. Counters are running
totals (running_counts). All data cells empty: the end was asked and did not answer. The five optics
cells empty: the row says nothing of the optics, unless that lasts 90 s: then nothing is reported.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, Protocol, TypeVar, assert_never

from strandkeeper.errors import DecodeError, InputError
from strandkeeper.model.names import End
from strandkeeper.model.plain_text import defused, undefused
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, NoLight, NotReported, Power
from strandkeeper.model.reading import (
    COUNTER_NAMES,
    AdminStatus,
    Deltas,
    EndRow,
    Media,
    OperStatus,
    OpticalReading,
)
from strandkeeper.model.times import iso_utc, ms_from_iso
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.running_counts import CountReader, CountWriter

__all__ = ["COLUMNS", "OPTIONAL", "HistoryWriter", "RowReader", "places_of", "read_history"]

OPTICS: Final = ("rx_dbm", "tx_dbm", "bias_ma", "temp_c", "vcc_v")
COLUMNS: Final = ("time", "end", *OPTICS, "oper_status", "uptime_s", *COUNTER_NAMES)
OPTIONAL: Final = ("last_change_s", "media", "module_id", "admin_status")
HEADER_HINT: Final = f"The header is {','.join(COLUMNS)} and, optional, {','.join(OPTIONAL)}."
NO_LIGHT_WORD: Final = "no-light"
SILENT_ON_OPTICS_MS: Final = 90_000
MOST_DBM: Final = 100.0
MOST: Final = 1e12  # of any figure; the analysis counts in thousandths, in 64 bits
ENDS: Final = {end.name: end for end in End}
OPER: Final = {"up": OperStatus.UP, "down": OperStatus.DOWN, "unknown": OperStatus.UNKNOWN}
ADMIN: Final = {status.name.lower(): status for status in AdminStatus}
MEDIA: Final = {media.name.lower().replace("_", "-"): media for media in Media}
MEDIA_WORDS: Final = {media: word for word, media in MEDIA.items()}
NOTHING_REPORTED: Final = OpticalReading()

Meaning = TypeVar("Meaning")


class CsvTable(Protocol):
    """What `csv.reader` returns."""

    @property
    def line_num(self) -> int:
        """How many lines have been read."""
        ...

    def __iter__(self) -> Iterator[list[str]]: ...


class _CellError(ValueError):
    """A cell that cannot be read: `column`, and why."""

    def __init__(self, column: str, why: str) -> None:
        super().__init__(f"{column}: {why}")


def read_history(lines: Iterable[str]) -> Iterator[EndRow]:
    """The rows of a history, in its order, as its lines come in.

    Raises DecodeError naming line and column, for a header that is not ours, a cell that cannot be
    read, a time that runs back, or the same time of one end twice.
    """
    table = csv.reader(lines, strict=True)
    try:
        header = next(table, [])
    except csv.Error as error:
        raise DecodeError(f"line 1: {error}", hint=HEADER_HINT) from error
    yield from RowReader(places_of(header)).rows(table)


def places_of(header: Sequence[str]) -> dict[str, int]:
    """Where each column stands: the order is free, the names are not. Raises DecodeError."""
    names = [name.strip().removeprefix("\ufeff") for name in header]
    known = COLUMNS + OPTIONAL
    missing = [name for name in COLUMNS if name not in names]
    unknown = [name for name in names if name not in known]
    twice = sorted({name for name in names if names.count(name) > 1})
    for wrong, what in ((unknown, "unknown"), (missing, "missing"), (twice, "more than once")):
        if wrong:
            raise DecodeError(
                f"line 1: {what}: {', '.join(wrong)}",
                hint=HEADER_HINT,
            )
    return {name: place for place, name in enumerate(names)}


def _number(column: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        raise _CellError(column, f"{text!r} is not a number") from None
    if not (math.isfinite(value) and abs(value) <= MOST):
        raise _CellError(column, f"{text!r} is not a number that can be measured")
    return value


def _maybe_number(column: str, text: str) -> float | None:
    return _number(column, text) if text else None


def _power(column: str, text: str) -> Power:
    if not text:
        return NOT_REPORTED
    if text == NO_LIGHT_WORD:
        return NO_LIGHT
    try:
        value = float(text)
    except ValueError:
        raise _CellError(column, f"{text!r} is neither dBm nor {NO_LIGHT_WORD}") from None
    if not -MOST_DBM <= value <= MOST_DBM:
        raise _CellError(column, f"{text!r} is not a power in dBm; no light is {NO_LIGHT_WORD}")
    return Measured(Dbm(value))


def _count(column: str, text: str) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdigit()):
        raise _CellError(column, f"{text!r} is not a whole count")
    return int(text)


def _ticks(column: str, text: str) -> int | None:
    """Seconds to hundredths."""
    if not text:
        return None
    value = _number(column, text)
    if value < 0:
        raise _CellError(column, f"{text!r} is less than nothing")
    return round(value * 100)


def _word(column: str, text: str, words: Mapping[str, Meaning]) -> Meaning | None:
    if not text:
        return None
    if text not in words:
        raise _CellError(column, f"{text!r} is none of {', '.join(words)}")
    return words[text]


class RowReader:
    """Rows out of cells, and what must be remembered from row to row.

    By end: the counters, when the optics last spoke and the time of the newest row; `time_ms` is
    that of the newest row of all.
    """

    def __init__(self, places: dict[str, int]) -> None:
        self._places = places
        self._data = [place for name, place in places.items() if name not in ("time", "end")]
        self.counts = (CountReader(), CountReader())
        self.optics_ms: list[int | None] = [None, None]
        self.row_ms = [-1, -1]
        self.time_ms = -1
        self._time_text: str | None = None

    def rows(self, table: CsvTable, lines_before: int = 0) -> Iterator[EndRow]:
        """The rows of a table in the csv module's sense. Raises DecodeError naming the line."""
        try:
            for cells in table:
                if cells:
                    yield self.row(cells)
        except (_CellError, csv.Error) as error:
            raise DecodeError(
                f"line {lines_before + table.line_num}: {error}",
                hint="Nothing was taken over. Mend that line.",
            ) from error

    def passed(self, time_ms: int) -> None:
        """Go on after rows up to that time that somebody else has read and remembered here."""
        self.time_ms, self._time_text = time_ms, None

    def row(self, cells: list[str]) -> EndRow:
        """One row. Raises _CellError."""
        if len(cells) != len(self._places):
            raise _CellError("cells", f"{len(cells)} of them, the header has {len(self._places)}")
        places = self._places
        time_ms = self._time(cells[places["time"]])
        end = self._end(cells[places["end"]], time_ms)
        if not any(cells[place] for place in self._data):
            self.counts[end].silent()
            return EndRow(time_ms=time_ms, end=end, answered=False)
        return self._answered(time_ms, end, {name: cells[at] for name, at in places.items()})

    def _time(self, text: str) -> int:
        if text == self._time_text:
            return self.time_ms
        try:
            time_ms = ms_from_iso(text)
        except InputError as error:
            raise _CellError("time", f"{error.message}; {error.hint}") from error
        if time_ms < self.time_ms:
            raise _CellError("time", f"{text} is before the row above; rows go by time")
        self._time_text, self.time_ms = text, time_ms
        return time_ms

    def _end(self, text: str, time_ms: int) -> End:
        end = ENDS.get(text)
        if end is None:
            raise _CellError("end", f"{text!r} is neither A nor B")
        if self.row_ms[end] == time_ms:
            raise _CellError("end", f"a second row of end {text} at the same time")
        self.row_ms[end] = time_ms
        return end

    def _answered(self, time_ms: int, end: End, cell: dict[str, str]) -> EndRow:
        uptime_cs = _ticks("uptime_s", cell["uptime_s"])
        totals = [_count(name, cell[name]) for name in COUNTER_NAMES]
        counts = self.counts[end].take(time_ms, uptime_cs, totals)
        return EndRow(
            time_ms=time_ms,
            end=end,
            optics=self._optics(time_ms, end, cell),
            oper=_word("oper_status", cell["oper_status"], OPER),
            admin=_word("admin_status", cell.get("admin_status", ""), ADMIN),
            uptime_cs=uptime_cs,
            last_change_cs=_ticks("last_change_s", cell.get("last_change_s", "")),
            media=_word("media", cell.get("media", ""), MEDIA),
            module_id=undefused(cell.get("module_id", "")) or None,
            deltas=Deltas(**dict(zip(COUNTER_NAMES, counts, strict=True))),
        )

    def _optics(self, time_ms: int, end: End, cell: dict[str, str]) -> OpticalReading | None:
        before = self.optics_ms[end]
        if not any(cell[name] for name in OPTICS):
            if before is None:
                self.optics_ms[end] = time_ms
                return None
            return None if time_ms - before < SILENT_ON_OPTICS_MS else NOTHING_REPORTED
        self.optics_ms[end] = time_ms
        return OpticalReading(
            rx=_power("rx_dbm", cell["rx_dbm"]),
            tx=_power("tx_dbm", cell["tx_dbm"]),
            bias_ma=_maybe_number("bias_ma", cell["bias_ma"]),
            temp_c=_maybe_number("temp_c", cell["temp_c"]),
            vcc_v=_maybe_number("vcc_v", cell["vcc_v"]),
        )


class HistoryWriter:
    """Rows to lines of text, without line ends; the header comes first."""

    def __init__(self) -> None:
        self.header = ",".join(COLUMNS + OPTIONAL)
        self._counts = (CountWriter(), CountWriter())

    def line(self, row: EndRow) -> str:
        """One row, to be given in order of time."""
        counts = self._counts[row.end]
        start = [iso_utc(row.time_ms), row.end.name]
        if not row.answered:
            counts.silent()
            return ",".join(start + [""] * (len(COLUMNS) + len(OPTIONAL) - 2))
        given = [getattr(row.deltas, name) for name in COUNTER_NAMES]
        totals = counts.take(row.time_ms, row.uptime_cs, given)
        return ",".join(
            [
                *start,
                *_optics_cells(row.optics),
                _oper_word(row.oper),
                _seconds(row.uptime_cs),
                *("" if total is None else str(total) for total in totals),
                _seconds(row.last_change_cs),
                "" if row.media is None else MEDIA_WORDS[row.media],
                _quoted(defused(row.module_id or "")),
                "" if row.admin is None else row.admin.name.lower(),
            ]
        )


def _optics_cells(optics: OpticalReading | None) -> list[str]:
    if optics is None:
        return [""] * len(OPTICS)
    return [
        _power_cell(optics.rx),
        _power_cell(optics.tx),
        _figure(optics.bias_ma, 3),
        _figure(optics.temp_c, 2),
        _figure(optics.vcc_v, 4),
    ]


def _power_cell(power: Power) -> str:
    match power:
        case Measured(power=Dbm(value=value)):
            return f"{value:.3f}"
        case NoLight():
            return NO_LIGHT_WORD
        case NotReported():
            return ""
    assert_never(power)


def _figure(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"


def _seconds(ticks: int | None) -> str:
    return "" if ticks is None else f"{ticks // 100}.{ticks % 100:02d}"


def _oper_word(oper: OperStatus | None) -> str:
    """A row that was answered always has this cell, or it would read as one without an answer."""
    if oper is None or oper is OperStatus.UNKNOWN:
        return "unknown"
    return "up" if oper is OperStatus.UP else "down"


def _quoted(text: str) -> str:
    plain = not any(sign in text for sign in ',"\r\n')
    return text if plain else '"' + text.replace('"', '""') + '"'
