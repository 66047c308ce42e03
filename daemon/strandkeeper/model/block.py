"""Rows as the analysis takes them: one integer matrix, a column a quantity, in recorded order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.model.mark import Mark
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.reading import EndRow

__all__ = ["MISSING", "Block", "Col", "Ints", "PowerCode"]

Ints = NDArray[np.int64]

MISSING: Final = -(1 << 62)  # no quantity below can take this value


class PowerCode(IntEnum):
    """What a power column's neighbour says of it; NOT_ASKED: the row is silent on optics."""

    NOT_ASKED = 0
    MEASURED = 1
    NO_LIGHT = 2
    NOT_REPORTED = 3


class Col(IntEnum):
    """Rows of the matrix. Cells hold MISSING where nothing is known."""

    TIME = 0  # [ms] record time
    END = 1  # 0 A, 1 B
    ANSWERED = 2  # 0 or 1
    RX_CODE = 3  # PowerCode
    RX = 4  # [0.001 dBm]
    TX_CODE = 5  # PowerCode
    TX = 6  # [0.001 dBm]
    BIAS = 7  # [µA]
    TEMP = 8  # [0.01 °C]
    VCC = 9  # [0.1 mV]
    OPER = 10  # OperStatus
    ADMIN = 11  # AdminStatus
    UPTIME = 12  # [cs]
    LAST_CHANGE = 13  # [cs] of the switch's own clock
    MEDIA = 14  # Media
    MODULE = 15  # index into Block.modules
    IN_OCTETS = 16
    OUT_OCTETS = 17
    IN_FRAMES = 18
    FCS_ERRORS = 19
    SYMBOL_ERRORS = 20
    BY_TRAP = 21  # 0 or 1


WIDTH: Final = len(Col)


def _power(power: Power) -> tuple[int, int]:
    if isinstance(power, Measured):
        return PowerCode.MEASURED, round(power.power.value * 1000)
    code = PowerCode.NO_LIGHT if isinstance(power, NoLight) else PowerCode.NOT_REPORTED
    return code, MISSING


def _scaled(value: float | None, factor: int) -> int:
    return MISSING if value is None else round(value * factor)


def _or_missing(value: int | None) -> int:
    return MISSING if value is None else int(value)


_SILENT: Final = (0, MISSING, 0, MISSING, MISSING, MISSING, MISSING)


def _optics(row: EndRow) -> tuple[int, ...]:
    optics = row.optics
    if optics is None:
        return _SILENT
    return (
        *_power(optics.rx),
        *_power(optics.tx),
        _scaled(optics.bias_ma, 1000),
        _scaled(optics.temp_c, 100),
        _scaled(optics.vcc_v, 10_000),
    )


def _cells(row: EndRow, modules: dict[str, int]) -> tuple[int, ...]:
    deltas = row.deltas
    name = row.module_id
    return (
        row.time_ms,
        row.end,
        int(row.answered),
        *_optics(row),
        _or_missing(row.oper),
        _or_missing(row.admin),
        _or_missing(row.uptime_cs),
        _or_missing(row.last_change_cs),
        _or_missing(row.media),
        MISSING if name is None else modules.setdefault(name, len(modules)),
        _or_missing(deltas.in_octets),
        _or_missing(deltas.out_octets),
        _or_missing(deltas.in_frames),
        _or_missing(deltas.fcs_errors),
        _or_missing(deltas.symbol_errors),
        int(row.by_trap),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Consecutive rows of one link, both ends, in the order they were recorded.

    `data` has shape (len(Col), rows), int64, so that `data[Col.RX]` is one contiguous column.
    `modules` are the module identities that Col.MODULE points into. `marks` are what a person did
    up to the last row. A block is never sorted here: the record's order is the order judged, and
    a time that runs back counts as standing still.
    """

    data: Ints
    modules: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()

    @classmethod
    def from_rows(cls, rows: Sequence[EndRow], marks: Sequence[Mark] = ()) -> Block:
        """The rows as they came; an empty sequence gives an empty block."""
        modules: dict[str, int] = {}
        cells = [_cells(row, modules) for row in rows]
        data = np.array(cells, dtype=np.int64).reshape(len(cells), WIDTH).T
        return cls(data=np.ascontiguousarray(data), modules=tuple(modules), marks=tuple(marks))

    @classmethod
    def empty(cls, rows: int) -> Block:
        """A block of that many rows with nothing known, to be filled column by column."""
        data = np.full((WIDTH, rows), MISSING, dtype=np.int64)
        data[[Col.ANSWERED]] = 1
        data[[Col.BY_TRAP]] = 0
        data[[Col.RX_CODE, Col.TX_CODE]] = PowerCode.NOT_ASKED
        return cls(data=data)

    def __len__(self) -> int:
        return int(self.data.shape[1])

    def part(self, start: int, stop: int) -> Block:
        """Rows start (included) to stop (excluded), without the marks."""
        return Block(data=self.data[:, start:stop], modules=self.modules)
