"""The same history as history_csv, read a column at a time: for a year of rows in one go.

A piece of the text in which every cell has the plain form that HistoryWriter gives it is read by
text_columns and put together here; a piece in which anything is unusual (a quoted cell, an
exponent, another way to write the time, a mistake) goes to the row reader, which alone judges and
reports. Both carry the same memory on, so the rows are the same whichever way each piece went.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, islice
from typing import Final

import numpy as np

from strandkeeper.model.block import MISSING, Block, Col, Ints, PowerCode
from strandkeeper.model.names import End
from strandkeeper.model.plain_text import undefused
from strandkeeper.model.reading import COUNTER_NAMES, EndRow
from strandkeeper.readers.history_csv import (
    ADMIN,
    ENDS,
    MEDIA,
    MOST,
    MOST_DBM,
    NO_LIGHT_WORD,
    OPER,
    OPTICS,
    SILENT_ON_OPTICS_MS,
    CsvTable,
    RowReader,
    places_of,
    read_history,
)
from strandkeeper.readers.running_counts import SLACK_CS, SLACK_SHARE, CountReader
from strandkeeper.readers.text_columns import Cells, UnusualError

__all__ = ["read_blocks"]

LONG_AGO: Final = -(1 << 61)
COUNTERS: Final = slice(Col.IN_OCTETS, Col.SYMBOL_ERRORS + 1)


def read_blocks(lines: Iterable[str], rows_at_once: int) -> Iterator[Block]:
    """The rows of a history in blocks of that many lines, as its lines come in.

    The same rows and the same errors as `read_history` gives.
    """
    stream = iter(lines)
    header = next(stream, "")
    bare = header.rstrip("\r\n")
    if not bare or '"' in bare or "\r" in bare:
        yield from _row_blocks(read_history(chain([header], stream)), rows_at_once)
        return
    places = places_of(bare.split(","))
    reader = RowReader(places)
    done = 1
    while piece := list(islice(stream, rows_at_once)):
        text = "".join(piece)
        block = None if '"' in text else _by_columns(text, len(piece), places, reader)
        taken = len(piece)
        if block is None:  # a quoted cell may go on in the next piece
            table = _Table(csv.reader(chain(piece, stream), strict=True), taken)
            block = Block.from_rows(list(reader.rows(table, done)))
            taken = table.line_num
        if len(block):
            yield block
        done += taken


class _Table:
    """The rows of a table that begin within its first `lines` lines; the last may go on after."""

    def __init__(self, table: CsvTable, lines: int) -> None:
        self._table, self._lines = table, lines

    @property
    def line_num(self) -> int:
        """How many lines have been read."""
        return self._table.line_num

    def __iter__(self) -> Iterator[list[str]]:
        for cells in self._table:
            yield cells
            if self.line_num >= self._lines:
                return


def _row_blocks(rows: Iterator[EndRow], rows_at_once: int) -> Iterator[Block]:
    while piece := list(islice(rows, rows_at_once)):
        yield Block.from_rows(piece)


def _by_columns(text: str, lines: int, places: dict[str, int], reader: RowReader) -> Block | None:
    """The lines as a block, the reader's memory carried on; None, and it untouched, if unusual."""
    text = text.replace("\r\n", "\n")
    text = text if text.endswith("\n") else text + "\n"
    if "\r" in text or text.count("\n") != lines:
        return None
    try:
        cells = Cells(text.encode(), len(places))
        block = _plain_columns(cells, places)
        mine = [np.flatnonzero(block.data[Col.END] == end) for end in End]
        _check_order(block.data[Col.TIME], mine, reader)
    except (UnusualError, UnicodeEncodeError):
        return None
    for end in End:
        rows = block.data[:, mine[end]]
        _judge_silence(rows, reader, end)
        _count(rows, reader.counts[end])
        block.data[:, mine[end]] = rows
        if len(mine[end]):
            reader.row_ms[end] = int(rows[Col.TIME, -1])
    reader.passed(int(block.data[Col.TIME, -1]))
    return block


def _plain_columns(cells: Cells, places: dict[str, int]) -> Block:
    """Every cell as it stands: counters still as totals, all optics cells empty as not asked."""
    block = Block.empty(len(cells))
    data = block.data
    data[Col.TIME] = cells.times(places["time"])
    data[Col.END] = _word_column(cells, places, "end", ENDS)
    if (data[Col.END] == MISSING).any():
        raise UnusualError
    others = [place for name, place in places.items() if name not in ("time", "end")]
    data[Col.ANSWERED] = (cells.lengths[others] > 0).any(axis=0)
    _optics_columns(cells, places, data)
    for name, column in (("uptime_s", Col.UPTIME), ("last_change_s", Col.LAST_CHANGE)):
        data[column] = _scaled(cells, places, name, 100, least=0.0)
    for name, column, words in (
        ("oper_status", Col.OPER, OPER),
        ("admin_status", Col.ADMIN, ADMIN),
        ("media", Col.MEDIA, MEDIA),
    ):
        data[column] = _word_column(cells, places, name, words)
    for which, name in enumerate(COUNTER_NAMES):
        known, counts = cells.counts(places[name])
        data[Col.IN_OCTETS + which] = np.where(known, counts, MISSING)
    modules: list[str] = []
    if "module_id" in places:
        codes, modules = cells.codes(places["module_id"])
        if any(undefused(word) != word for word in modules):
            raise UnusualError
        data[Col.MODULE] = np.where(codes < 0, MISSING, codes)
    return Block(data=data, modules=tuple(modules))


def _optics_columns(cells: Cells, places: dict[str, int], data: Ints) -> None:
    said = (cells.lengths[[places[name] for name in OPTICS]] > 0).any(axis=0)
    for name, column in (("rx_dbm", Col.RX), ("tx_dbm", Col.TX)):
        dark = cells.words(places[name]) == NO_LIGHT_WORD.encode()
        known, power = cells.numbers(places[name], without=dark)
        if (np.abs(power) > MOST_DBM).any():
            raise UnusualError
        data[column] = np.where(known, np.rint(power * 1000), MISSING)
        code = np.where(known, PowerCode.MEASURED, PowerCode.NOT_REPORTED)
        code = np.where(dark, PowerCode.NO_LIGHT, code)
        data[column - 1] = np.where(said, code, PowerCode.NOT_ASKED)
    for name, column, factor in (
        ("bias_ma", Col.BIAS, 1000),
        ("temp_c", Col.TEMP, 100),
        ("vcc_v", Col.VCC, 10_000),
    ):
        data[column] = _scaled(cells, places, name, factor)


def _scaled(
    cells: Cells, places: dict[str, int], name: str, factor: int, least: float = -np.inf
) -> Ints:
    """Numbers times the factor, rounded half to even as `round` does."""
    if name not in places:
        return np.full(len(cells), MISSING, dtype=np.int64)
    known, value = cells.numbers(places[name])
    if (value < least).any() or (np.abs(value) > MOST).any():
        raise UnusualError
    return np.where(known, np.rint(value * factor), MISSING).astype(np.int64)


def _word_column(cells: Cells, places: dict[str, int], name: str, words: Mapping[str, int]) -> Ints:
    if name not in places:
        return np.full(len(cells), MISSING, dtype=np.int64)
    codes, found = cells.codes(places[name])
    if not words.keys() >= set(found):
        raise UnusualError
    return np.array([*(words[word] for word in found), MISSING], dtype=np.int64)[codes]


def _check_order(time: Ints, mine: list[Ints], reader: RowReader) -> None:
    """Raises UnusualError for a time that runs back or comes twice of one end."""
    if time[0] < reader.time_ms or (time[1:] < time[:-1]).any():
        raise UnusualError
    for end in End:
        own = np.concatenate(([reader.row_ms[end]], time[mine[end]]))
        if (own[1:] == own[:-1]).any():
            raise UnusualError


def _judge_silence(rows: Ints, reader: RowReader, end: End) -> None:
    """Optics cells that stay empty for long mean that nothing is reported."""
    answered = np.flatnonzero(rows[Col.ANSWERED])
    if not len(answered):
        return
    time = rows[Col.TIME, answered]
    silent = rows[Col.RX_CODE, answered] == PowerCode.NOT_ASKED
    before = reader.optics_ms[end]
    spoken = np.where(silent, LONG_AGO, time)
    spoken[0] = max(spoken[0], time[0] if before is None else before)
    spoken = np.maximum.accumulate(spoken)
    for_long = answered[silent & (time - spoken >= SILENT_ON_OPTICS_MS)]
    rows[Col.RX_CODE, for_long] = PowerCode.NOT_REPORTED
    rows[Col.TX_CODE, for_long] = PowerCode.NOT_REPORTED
    reader.optics_ms[end] = int(spoken[-1])


def _count(rows: Ints, reader: CountReader) -> None:
    """Totals to differences, by the rules of CountReader."""
    answered = np.flatnonzero(rows[Col.ANSWERED])
    if not len(answered):
        reader.silenced |= rows.shape[1] > 0
        return
    before = _before(rows, answered, reader)
    now = rows[:, answered]
    known = (now[Col.UPTIME] != MISSING) & (before[Col.UPTIME] != MISSING)
    passed_cs = (now[Col.TIME] - before[Col.TIME]) // 10
    gained_cs = now[Col.UPTIME] - before[Col.UPTIME]
    enough = gained_cs >= passed_cs * (1 - SLACK_SHARE) - SLACK_CS
    silenced = np.diff(answered, prepend=-1) > 1
    silenced[0] |= reader.silenced
    goes_on = np.where(known, enough, ~silenced)
    then, totals = before[COUNTERS], now[COUNTERS]
    sure = goes_on & (then != MISSING) & (totals != MISSING) & (totals >= then)
    rows[COUNTERS, answered] = np.where(sure, totals - then, MISSING)
    uptime = int(now[Col.UPTIME, -1])
    reader.totals = [None if total == MISSING else int(total) for total in totals[:, -1]]
    reader.time_ms = int(now[Col.TIME, -1])
    reader.uptime_cs = None if uptime == MISSING else uptime
    reader.silenced = bool(answered[-1] < rows.shape[1] - 1)


def _before(rows: Ints, answered: Ints, reader: CountReader) -> Ints:
    """For each row that was answered the one before it, the first out of the reader's memory."""
    before = np.full((rows.shape[0], len(answered)), MISSING, dtype=np.int64)
    before[:, 1:] = rows[:, answered[:-1]]
    before[Col.TIME, 0] = reader.time_ms
    if reader.uptime_cs is not None:
        before[Col.UPTIME, 0] = reader.uptime_cs
    for which, total in enumerate(reader.totals):
        if total is not None:
            before[Col.IN_OCTETS + which, 0] = total
    return before
