"""Rows and records for the store's tests."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from strandkeeper.model.names import End, LinkName
from strandkeeper.model.power import Measured, Power
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.optics.units import Dbm
from strandkeeper.store import RecordReader, RecordWriter, open_reader, open_writer

IN_ORDER = Measured(Dbm(-8.0))
MakeRow = Callable[..., EndRow]


@pytest.fixture
def link() -> LinkName:
    return LinkName("Lab to pump house")


@pytest.fixture
def t0() -> int:
    """2026-11-18T00:00:00Z, on the hour."""
    return 1_794_960_000_000


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.db"


@pytest.fixture
def writer(path: Path) -> Iterator[RecordWriter]:
    writer = open_writer(path, reserve=False)
    yield writer
    writer.close()


@pytest.fixture
def reader(path: Path, writer: RecordWriter) -> Iterator[RecordReader]:
    reader = open_reader(path)
    yield reader
    reader.close()


@pytest.fixture
def make_row() -> MakeRow:
    """A row of a link in order: -8 dBm received, -5.5 dBm sent, port up."""

    def make(
        time_ms: int,
        end: End = End.A,
        *,
        rx: Power = IN_ORDER,
        temp_c: float = 28.0,
        oper: OperStatus = OperStatus.UP,
        fcs_errors: int | None = 0,
        module_id: str | None = "SN 1",
    ) -> EndRow:
        optics = OpticalReading(
            rx=rx, tx=Measured(Dbm(-5.5)), bias_ma=12.5, temp_c=temp_c, vcc_v=3.2971
        )
        deltas = Deltas(
            in_octets=1000, out_octets=900, in_frames=10, fcs_errors=fcs_errors, symbol_errors=0
        )
        return EndRow(
            time_ms=time_ms,
            end=end,
            optics=optics,
            oper=oper,
            uptime_cs=4200,
            module_id=module_id,
            deltas=deltas,
        )

    return make
