"""Read by columns, a history gives the same rows and the same errors as read row by row."""

from __future__ import annotations

import random
from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.errors import DecodeError
from strandkeeper.model.block import MISSING, Block, Col
from strandkeeper.model.names import End
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import AdminStatus, Deltas, EndRow, Media, OperStatus
from strandkeeper.model.reading import OpticalReading as Optics
from strandkeeper.optics.units import Dbm
from strandkeeper.readers import history_columns
from strandkeeper.readers.history_columns import read_blocks
from strandkeeper.readers.history_csv import HistoryWriter, read_history

HEADER = (
    "time,end,rx_dbm,tx_dbm,bias_ma,temp_c,vcc_v,oper_status,uptime_s,"
    "in_octets,out_octets,in_frames,fcs_errors,symbol_errors,module_id"
)
LINES = [
    "2026-03-01T12:00:00Z,A,-9.43,-5.512,12.25,31.37,3.2987,up,1000.07,100,,7,0,0,one",
    "2026-03-01T12:00:00Z,B,no-light,-5.5,12.2,31,3.3,down,2000,50,60,3,0,0,two",
    "2026-03-01T12:00:30.250Z,A,,,,,,up,1030.32,180,,9,1,0,one",
    "2026-03-01T12:00:30.250Z,B,,,,,,,,,,,,,",
    "2026-03-01T12:02:00Z,A,,,,,,up,1120.07,200,4,9,1,0,one",
    "2026-03-01T12:02:00Z,B,-9.005,,,,,up,5,10,10,1,0,0,three",
    "2026-03-01T12:02:30Z,A,-9,-0.0,.5,5.,3.30005,unknown,0,,,,,,",
    "2026-03-01T12:02:30Z,B,-9.0049,-5,12.0005,-31.125,3.3,up,35,17,12,1,0,2,three",
]
# in place of a cell: what is unusual or wrong, and what only looks so
CELLS = ["", "1e3", "nan", "+1", " 1", "1_0", "x", "-", ".", "-.5", "1.2.3", "101", "-1", "0007"]
CELLS += [
    "1" * 19,
    "up",
    "UP",
    "no-light",
    "no-lightx",
    "A",
    "C",
    '"a"',
    '"a\nb"',
    '"',
    "ä",
    "\x00",
]
CELLS += ["2026-02-30T00:00:00Z", "2026-03-01T12:02:30+01:00", "2026-03-01 12:02:31Z", "1.5,", "\r"]


def cells_of(blocks: Iterable[Block]) -> list[list[object]]:
    """Every cell of every row, modules by name."""
    return [
        [
            block.modules[cell] if column == Col.MODULE and cell != MISSING else cell
            for column, cell in enumerate(row)
        ]
        for block in blocks
        for row in block.data.T.tolist()
    ]


def by_rows(lines: list[str]) -> list[list[object]] | str:
    try:
        return cells_of([Block.from_rows(list(read_history(lines)))])
    except DecodeError as error:
        return f"{error.message} {error.hint}"


def by_columns(lines: list[str], at_once: int) -> list[list[object]] | str:
    try:
        return cells_of(list(read_blocks(lines, at_once)))
    except DecodeError as error:
        return f"{error.message} {error.hint}"


@pytest.mark.parametrize("at_once", [1, 2, 3, 5, 100])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_a_plain_history_is_the_same_in_pieces_of_any_size(at_once: int, ending: str) -> None:
    lines = [line + ending for line in (HEADER, *LINES)]
    assert by_columns(lines, at_once) == by_rows(lines)
    assert len(by_rows(lines)) == len(LINES)


def test_a_plain_history_never_meets_the_row_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    lines = [line + "\n" for line in (HEADER, *LINES)]
    expected = by_rows(lines)
    monkeypatch.setattr(history_columns, "_row_blocks", None)
    monkeypatch.setattr(history_columns.csv, "reader", None)
    assert by_columns(lines, 3) == expected


@settings(max_examples=400, deadline=None)
@given(
    places=st.lists(
        st.tuples(st.integers(0, len(LINES)), st.integers(0, 14), st.sampled_from(CELLS)),
        min_size=1,
        max_size=3,
    ),
    at_once=st.integers(1, 9),
)
def test_whatever_stands_in_a_cell_both_ways_say_the_same(
    places: list[tuple[int, int, str]], at_once: int
) -> None:
    table = [line.split(",") for line in (HEADER, *LINES)]
    for line, cell, text in places:
        table[line][cell] = text
    lines = "".join(",".join(cells) + "\n" for cells in table).splitlines(keepends=True)
    assert by_columns(lines, at_once) == by_rows(lines)


@settings(max_examples=100, deadline=None)
@given(
    order=st.lists(st.integers(0, len(LINES) - 1), max_size=10),
    blank=st.booleans(),
    at_once=st.integers(1, 4),
    end=st.sampled_from(["\n", ""]),
)
def test_rows_in_any_order_and_blank_lines_are_told_alike(
    order: list[int], blank: bool, at_once: int, end: str
) -> None:
    lines = [f"{HEADER}\n", *(LINES[k] + "\n" for k in order)]
    if blank:
        lines.insert(1 + len(order) // 2, "\n")
    lines[-1] = lines[-1].removesuffix("\n") + end
    assert by_columns(lines, at_once) == by_rows(lines)


@pytest.mark.parametrize("header", ["", "\n", '"time",end\n', "time,end\n", f"\ufeff{HEADER}\n"])
def test_any_header_is_judged_alike(header: str) -> None:
    lines = [header, *(line + "\n" for line in LINES)]
    assert by_columns(lines, 3) == by_rows(lines)


def made_rows(seed: int, count: int) -> list[EndRow]:
    """What a switch might say, silences and restarts among it."""
    dice = random.Random(seed)
    time, rows = 1_767_225_600_000, []
    for number in range(count):
        time += dice.choice([30_000, 30_000, 30_250, 200_000])
        if dice.random() < 0.1:
            rows.append(EndRow(time_ms=time, end=End(number % 2), answered=False))
            continue
        power = Measured(Dbm(round(dice.gauss(-9, 3), 3)))
        seen = Optics(
            rx=dice.choice([power, power, NO_LIGHT]),
            tx=dice.choice([power, NOT_REPORTED]),
            bias_ma=dice.choice([None, round(dice.uniform(0, 100), 3)]),
            temp_c=round(dice.gauss(20, 20), 2),
            vcc_v=round(dice.gauss(3.3, 0.1), 4),
        )
        known = dice.random() < 0.9
        rows.append(
            EndRow(
                time_ms=time,
                end=End(number % 2),
                optics=seen if dice.random() < 0.7 else None,
                oper=dice.choice([OperStatus.UP, OperStatus.DOWN, OperStatus.UNKNOWN]),
                admin=dice.choice([None, *AdminStatus]),
                media=dice.choice([None, *Media]),
                module_id=dice.choice([None, "one", "two 2", "drei-ß"]),
                uptime_cs=dice.choice([(time // 10) % (1 << 32), dice.randrange(1 << 32)]),
                last_change_cs=dice.randrange(1 << 32),
                deltas=Deltas(in_octets=dice.randrange(1 << 40), fcs_errors=0 if known else None),
            )
        )
    return rows


@pytest.mark.parametrize("seed", range(20))
def test_what_is_exported_reads_back_alike(seed: int) -> None:
    writer = HistoryWriter()
    lines = [writer.header + "\n", *(writer.line(row) + "\n" for row in made_rows(seed, 300))]
    whole = Block.from_rows(list(read_history(lines)))
    (block,) = read_blocks(lines, 1000)
    np.testing.assert_array_equal(block.data, whole.data)
    assert block.modules == whole.modules
    assert by_columns(lines, 37) == by_rows(lines)


def test_rows_come_while_their_lines_come() -> None:
    taken: list[str] = []

    def lines() -> Iterable[str]:
        for line in (HEADER, *LINES):
            taken.append(line)
            yield line + "\n"

    assert len(next(iter(read_blocks(lines(), 2)))) == 2
    assert len(taken) == 3


def test_a_first_row_without_a_time_is_refused() -> None:
    lines = [f"{HEADER}\n", ",A,-9,,,,,up,,,,,,,\n"]
    assert str(by_rows(lines)).startswith("line 2: time: '' is not a time")
    assert by_columns(lines, 3) == by_rows(lines)


def test_quoted_cells_leave_the_rows_after_them_to_the_columns(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    lines = [f"{HEADER}\n"]
    for minute in range(60):
        name = '"a, b"' if minute == 7 else '"two\nlines"' if minute == 19 else "one"
        row = (
            f"2026-03-01T12:{minute:02}:00Z,A,-9,-5,12,31,3.3,up,{minute}00,1,1,{minute},0,0,{name}"
        )
        lines += [line + "\n" for line in row.split("\n")]
    went: list[bool] = []
    plain = history_columns._by_columns

    def counted(*arguments: object) -> Block | None:
        block = plain(*arguments)  # type: ignore[arg-type]
        went.append(block is not None)
        return block

    monkeypatch.setattr(history_columns, "_by_columns", counted)
    assert by_columns(lines, 10) == by_rows(lines)
    assert went == [True] * 4, "six pieces of ten rows, a quote in two of them"
