"""Described tables: which row is whose, lanes, kinds, scalars, and what a module's absence is."""

from __future__ import annotations

from typing import Any

import pytest
from tests.strandkeeper.readers.entity_rows import MODULE, Rows

from strandkeeper.model.enterprise_table import (
    EnterpriseTable,
    PortIs,
    TableColumn,
    parse_index,
    parse_unit,
)
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import OpticalReading, Quantity
from strandkeeper.optics.units import Dbm
from strandkeeper.readers.base import ModuleState, PortKey, PortReader
from strandkeeper.readers.enterprise import EnterpriseReader
from strandkeeper.readers.registry import READERS, readers_for

BASE: Oid = (1, 3, 6, 1, 4, 1, 32473, 1, 1)
RX, TX, BIAS, TEMP, VCC, SERIAL, KIND, PORT = (*((*BASE, n) for n in range(1, 9)),)
PORTS = tuple(
    PortKey(if_index=100 + n, name=f"Gi1/{n}", descr=f"port {n}", alias="") for n in (1, 2, 11)
)
COLUMNS = {
    Quantity.RX: TableColumn(oid=RX, unit=parse_unit("0.01 dBm")),
    Quantity.TX: TableColumn(oid=TX, unit=parse_unit("0.01 dBm")),
}


def table(index: str = "ifIndex", **more: Any) -> EnterpriseTable:
    return EnterpriseTable(name="own", index=parse_index(index), **{"columns": COLUMNS, **more})


def cells(**columns: dict[Oid, Value]) -> dict[Oid, dict[Oid, Value]]:
    return {globals()[name.upper()]: rows for name, rows in columns.items()}


def bound(described: EnterpriseTable, walked: dict[Oid, dict[Oid, Value]]) -> dict[int, PortReader]:
    return dict(EnterpriseReader(described).bind(walked, PORTS).ports)


def answer(reader: PortReader, walked: dict[Oid, dict[Oid, Value]]) -> dict[Oid, Value]:
    """What the switch that was walked answers to a get."""
    flat = {(*c, *i): v for c, rows in walked.items() for i, v in rows.items()}
    return {oid: flat.get(oid, Absent.NO_SUCH_INSTANCE) for oid in reader.oids}


def rx_of(reader: PortReader, walked: dict[Oid, dict[Oid, Value]]) -> object:
    sample = reader.decode(answer(reader, walked))
    assert sample.reading is not None
    return sample.reading.rx


@pytest.mark.parametrize(
    ("description", "walked"),
    [
        pytest.param(table(), {RX: {(101,): -523, (102,): -700}}, id="ifIndex"),
        pytest.param(
            table("port", port_offset=101),
            {RX: {(0,): -523, (1,): -700}},
            id="front panel less one",
        ),
        pytest.param(
            table("port", port_name="port {port}", port_offset=1),
            {RX: {(0,): -523, (1,): -700}},
            id="front panel by name",
        ),
        pytest.param(
            table("unit.port", port_name="Gi{unit}/{port}"),
            {RX: {(1, 1): -523, (1, 2): -700, (2, 1): -900}},
            id="stack unit and port",
        ),
        pytest.param(
            table("any", port_oid=PORT),
            {RX: {(7,): -523, (8,): -700}, PORT: {(7,): b"Gi1/1", (8,): b"Gi1/2"}},
            id="running rows, name in a column",
        ),
        pytest.param(
            table("any", port_oid=PORT, port_is=PortIs.IF_INDEX),
            {RX: {(7,): -523, (8,): -700}, PORT: {(7,): 101, (8,): b"102"}},
            id="running rows, ifIndex in a column",
        ),
        pytest.param(table("0", port_name="Gi1/1"), {RX: {(0,): -523}}, id="scalars of one port"),
        pytest.param(table("5.ifIndex"), {RX: {(5, 101): -523, (6, 101): -100}}, id="fixed arc"),
    ],
)
def test_a_row_goes_to_its_port(
    description: EnterpriseTable, walked: dict[Oid, dict[Oid, Value]]
) -> None:
    ports = bound(description, walked)
    assert rx_of(ports[101], walked) == Measured(Dbm(-5.23))
    if 102 in ports:
        assert rx_of(ports[102], walked) == Measured(Dbm(-7.0))
    assert 111 not in ports


@pytest.mark.parametrize("index", ["entPhysicalIndex", "any"])
def test_rows_by_physical_index_go_through_the_entity_tables(index: str) -> None:
    rows = Rows().entity(4100, 0, MODULE, "module").alias(4100, 101)
    walked = {**rows.tables, RX: {(4100,): -523}, PORT: {(4100,): 4100}}
    described = table(index, port_oid=None if index != "any" else PORT, port_is=PortIs.ENTITY)
    assert rx_of(bound(described, walked)[101], walked) == Measured(Dbm(-5.23))
    assert (1, 3, 6, 1, 2, 1, 47, 1, 3, 2, 1, 2) in EnterpriseReader(described).columns


def test_of_several_lanes_the_lowest_is_judged_and_the_others_are_said() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {
        RX: {(101, lane): -500 - lane for lane in (1, 2, 3, 4)},
    }
    reader = bound(table("ifIndex.lane"), walked)[101]
    assert rx_of(reader, walked) == Measured(Dbm(-5.01))
    assert reader.remarks == ("judged by lane 1; further lanes: 2, 3, 4",)


def test_the_owner_may_choose_the_lane() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101, 0): -100, (101, 1): -523}}
    reader = bound(table("ifIndex.lane", lane=1), walked)[101]
    assert rx_of(reader, walked) == Measured(Dbm(-5.23))


KINDS = {
    Quantity.TEMPERATURE: TableColumn(oid=RX, unit=parse_unit("0.1 C"), kind=1),
    Quantity.RX: TableColumn(oid=RX, unit=parse_unit("0.01 dBm"), kind=5),
    Quantity.TX: TableColumn(oid=RX, unit=parse_unit("0.01 dBm"), kind=4),
}


def test_one_row_a_sensor_is_joined_by_its_kind_not_its_place() -> None:
    in_index: dict[Oid, dict[Oid, Value]] = {RX: {(101, 5): -523, (101, 1): 352}}
    reader = bound(table("ifIndex.kind", columns=KINDS), in_index)[101]
    sample = reader.decode(answer(reader, in_index))
    assert sample.reading == OpticalReading(rx=Measured(Dbm(-5.23)), temp_c=35.2)

    by_column: dict[Oid, dict[Oid, Value]] = {
        RX: {(3,): -523, (9,): 352},
        KIND: {(3,): 5, (9,): 1},
        PORT: {(3,): b"Gi1/1", (9,): b"Gi1/1"},
    }
    reader = bound(table("any", columns=KINDS, kind_oid=KIND, port_oid=PORT), by_column)[101]
    assert reader.decode(answer(reader, by_column)).reading == sample.reading


def test_kinds_may_be_words() -> None:
    words = {Quantity.RX: TableColumn(oid=RX, unit=parse_unit("0.1 uW"), kind="pRx")}
    walked: dict[Oid, dict[Oid, Value]] = {
        RX: {(1,): 2999, (2,): 77},
        KIND: {(1,): b"PRX ", (2,): b"ptx"},
        PORT: {(1,): b"Gi1/1", (2,): b"Gi1/1"},
    }
    reader = bound(table("any", columns=words, kind_oid=KIND, port_oid=PORT), walked)[101]
    rx = rx_of(reader, walked)
    assert isinstance(rx, Measured)
    assert rx.power.value == pytest.approx(-5.23, abs=0.005)  # 10·log10 0.2999


def test_a_module_that_is_pulled_takes_its_rows_along() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): -523}, TX: {(101,): -600}}
    reader = bound(table(), walked)[101]
    assert reader.presence == (*RX, 101)
    gone = reader.decode(answer(reader, {}))
    assert gone.module is ModuleState.GONE
    assert gone.reading == OpticalReading()


def test_a_row_full_of_words_for_nothing_reports_nothing() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): b"N/A"}, TX: {(101,): b"N/A"}}
    reader = bound(table(not_there=("N/A",)), walked)[101]
    sample = reader.decode(answer(reader, walked))
    assert (sample.reading, sample.module) == (OpticalReading(), ModuleState.UNKNOWN)


def test_no_answer_to_any_cell_says_nothing() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): -523}}
    reader = bound(table(), walked)[101]
    assert reader.decode({(*RX, 101): Absent.FAILED}).reading is None


def test_zero_degrees_and_zero_volts_are_a_module_without_diagnostics() -> None:
    columns = {
        **COLUMNS,
        Quantity.TEMPERATURE: TableColumn(oid=TEMP, unit=parse_unit("0.1 C")),
        Quantity.SUPPLY: TableColumn(oid=VCC, unit=parse_unit("mV")),
    }
    walked: dict[Oid, dict[Oid, Value]] = {c: {(101,): 0} for c in (RX, TX, TEMP, VCC)}
    reader = bound(table(columns=columns), walked)[101]
    assert reader.decode(answer(reader, walked)).reading == OpticalReading()


def test_the_serial_number_is_the_module() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): -523}, SERIAL: {(101,): b"AB12   \0"}}
    reader = bound(table(serial=SERIAL), walked)[101]
    assert reader.decode(answer(reader, walked)).module_id == "AB12"


def test_rows_of_no_port_and_cells_that_are_no_figures_are_said() -> None:
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): b"kein Modul", (999,): -523}}
    found = EnterpriseReader(table()).bind(walked, PORTS)
    assert found.remarks == (
        'table "own": 1 rows fit no port of the switch (999)',
        'table "own": cells that are no figures, taken as not reported: '
        '"kein modul" (receive power); name them in no_light or not_there',
    )
    assert rx_of(found.ports[101], walked) == NOT_REPORTED


def test_a_name_on_two_ports_names_neither() -> None:
    twice = (*PORTS, PortKey(if_index=201, name="Gi1/1"))
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(0,): -523}}
    described = table("0", port_name="Gi1/1")
    assert not EnterpriseReader(described).bind(walked, twice).ports


def test_a_table_without_light_ties_no_port() -> None:
    only = {Quantity.TEMPERATURE: TableColumn(oid=TEMP, unit=parse_unit("0.1 C"))}
    assert not bound(table(columns=only), {TEMP: {(101,): 352}})


def test_words_for_darkness_hold_for_one_column_alone_if_they_stand_there() -> None:
    columns = {
        Quantity.RX: TableColumn(oid=RX, unit=parse_unit("0.01 dBm"), no_light=(-1,)),
        Quantity.TX: TableColumn(oid=TX, unit=parse_unit("0.01 dBm")),
    }
    walked: dict[Oid, dict[Oid, Value]] = {RX: {(101,): -1}, TX: {(101,): -1}}
    reader = bound(table(columns=columns), walked)[101]
    assert reader.decode(answer(reader, walked)).reading == OpticalReading(
        rx=NO_LIGHT, tx=Measured(Dbm(-0.01))
    )


def test_what_the_owner_described_is_tried_before_the_standard_sensors() -> None:
    names = [reader.name for reader in readers_for([table()])]
    assert names == ['table "own"', *READERS]
