"""Light out of the standard sensor table: which sensor is which, whose it is, what it says."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.readers.entity_rows import (
    AMPERES,
    CELSIUS,
    CHASSIS,
    CONTAINER,
    MODULE,
    NONOPERATIONAL,
    OTHER_TYPE,
    PORT,
    SENSOR,
    UNAVAILABLE,
    VOLTS,
    WATTS,
    Rows,
    optics,
    ports,
)

from strandkeeper.model.oid import Absent, Oid, Value, parse_oid
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.readers.base import Binding, ModuleState, PortKey, Sample
from strandkeeper.readers.entity_sensor import EntitySensorReader

READER = EntitySensorReader()
PORTS = ports("Gi1", "Gi2", "Gi11")


def bind(rows: Rows, keys: tuple[PortKey, ...] = PORTS) -> Binding:
    return READER.bind(rows.walked, keys)


def read(rows: Rows, if_index: int = 1, keys: tuple[PortKey, ...] = PORTS) -> Sample:
    reader = bind(rows, keys).ports[if_index]
    return reader.decode(rows.answer(reader.oids))


def dbm(power: Power) -> float:
    assert isinstance(power, Measured)
    return round(power.power.value, 2)


def in_module(kind: int = MODULE) -> Rows:
    """chassis 1 > container 2 > module 3 with the sensors, mapped to interface 1."""
    rows = Rows().entity(1, 0, CHASSIS, "Chassis").entity(2, 1, CONTAINER, "Slot 1")
    return rows.entity(3, 2, kind, "Transceiver", serial="T-0001").alias(3, 1)


def test_the_five_figures_of_a_module_are_read() -> None:
    sample = read(optics(in_module(), 3, 10))
    assert sample.module is ModuleState.PRESENT
    assert sample.module_id == "T-0001"
    reading = sample.reading
    assert reading is not None
    assert dbm(reading.tx) == -5.23
    assert dbm(reading.rx) == -10.00
    assert (reading.temp_c, reading.vcc_v, reading.bias_ma) == (35.2, 3.31, 36.1)


TREES = {
    "chassis > container > module > port, sensors in the module": lambda: (
        Rows()
        .entity(1, 0, CHASSIS)
        .entity(2, 1, CONTAINER)
        .entity(3, 2, MODULE)
        .entity(4, 3, PORT)
        .alias(4, 2)
    ),
    "chassis > container > port > module > sensors": lambda: (
        Rows()
        .entity(1, 0, CHASSIS)
        .entity(2, 1, CONTAINER)
        .entity(5, 2, PORT)
        .alias(5, 2)
        .entity(3, 5, MODULE)
    ),
    "port > sensors, no module": lambda: (
        Rows().entity(1, 0, CHASSIS).entity(3, 1, PORT).alias(3, 2)
    ),
    "the port in the module has a name and no mapping": lambda: (
        Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE).entity(4, 3, PORT, "Gi2")
    ),
    "the mapping points to another column of the row": lambda: (
        Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE).alias(3, 2, column="2")
    ),
    "only the module's name tells": lambda: (
        Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE, "Transceiver of Gi2")
    ),
    "only its description tells": lambda: (
        Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE, descr="Gigabit fibre port Gi2, optic")
    ),
}


@pytest.mark.parametrize("tree", TREES)
def test_sensors_are_tied_to_the_port_through_every_shape_of_tree(tree: str) -> None:
    assert set(bind(optics(TREES[tree](), 3, 10)).ports) == {2}


def test_sensors_straight_under_the_chassis_are_tied_by_their_names() -> None:
    rows = optics(Rows().entity(1, 0, CHASSIS), 1, 10, lead="Gi2 ")
    optics(rows, 1, 20, lead="Gi11 ")
    bound = bind(rows)
    assert set(bound.ports) == {2, 3}
    assert (*parse_oid(SENSOR), 4, 24) in bound.ports[3].oids


def test_port_1_is_not_in_port_11() -> None:
    rows = optics(Rows().entity(1, 0, CHASSIS), 1, 10, lead="Gi11 ")
    assert set(bind(rows).ports) == {3}


def test_a_bare_number_is_a_port_only_after_the_word_port() -> None:
    keys = ports("1", "2", "3")
    rows = optics(Rows().entity(1, 0, CHASSIS), 1, 10, lead="Fan 1 ")
    assert bind(rows, keys).ports == {}
    rows = optics(Rows().entity(1, 0, CHASSIS), 1, 10, lead="Port 2 lane 1 ")
    assert set(bind(rows, keys).ports) == {2}


def test_a_number_that_merely_agrees_ties_nothing_and_is_said() -> None:
    rows = Rows().entity(1, 0, CHASSIS).entity(3, 1, CONTAINER, "Bay 2")
    bound = bind(optics(rows, 3, 10))
    assert bound.ports == {}
    assert bound.remarks == ("2 light sensors could not be tied to a port",)


def test_a_mapping_to_something_else_than_an_interface_ties_nothing() -> None:
    rows = Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE)
    rows.put("1.3.6.1.2.1.47.1.3.2.1.2", (3, 0), parse_oid("1.3.6.1.2.1.22.1.3.1.1.1.2"))
    assert bind(optics(rows, 3, 10)).ports == {}


def test_a_tree_that_loops_or_has_holes_is_survived() -> None:
    loop = optics(Rows().entity(2, 3, CONTAINER).entity(3, 2, MODULE), 3, 10)
    orphan = optics(Rows(), 77, 10)
    assert bind(loop).ports == {}
    assert bind(orphan).ports == {}


def test_a_line_card_with_many_ports_gives_nobody_its_figures() -> None:
    rows = Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE, "Line card", serial="L-1")
    rows.entity(4, 3, PORT, "Gi1").entity(5, 3, PORT, "Gi2")
    rows.sensor(10, 3, "Card temperature", CELSIUS, 40)
    optics(rows, 4, 20)
    optics(rows, 5, 30)
    bound = bind(rows)
    assert set(bound.ports) == {1, 2}
    assert (*parse_oid(SENSOR), 4, 10) not in bound.ports[1].oids
    assert read(rows, 1).module_id is None  # the card's number is no module's


def test_thresholds_that_are_published_as_sensors_are_not_taken() -> None:
    rows = in_module()
    for index, name in enumerate(
        ("Rx power high alarm", "Rx Power Low Warning Threshold", "RxPowerMax"), start=5
    ):
        rows.sensor(index, 3, name, WATTS, 5000, scale=8, precision=4)
    assert dbm(read(optics(rows, 3, 10)).reading.rx) == -10.00  # type: ignore[union-attr]


@pytest.mark.parametrize("units", ["dBm", " dbm ", "DBM", "dBm "])
@pytest.mark.parametrize("kind", [OTHER_TYPE, 2, WATTS])
def test_units_that_say_dbm_are_believed(units: str, kind: int) -> None:
    rows = in_module().sensor(10, 3, "Rx power", kind, -523, precision=2, units=units)
    assert dbm(read(rows).reading.rx) == -5.23  # type: ignore[union-attr]


def test_dbm_put_into_watts_sensors_are_given_away_by_a_negative_power() -> None:
    rows = in_module().sensor(10, 3, "Rx power", WATTS, -523, precision=2)
    rows.sensor(11, 3, "Tx power", WATTS, 120, precision=2)
    reading = read(rows).reading
    assert reading is not None
    assert (dbm(reading.rx), dbm(reading.tx)) == (-5.23, 1.20)


def test_a_watts_sensor_that_turns_negative_later_asks_to_be_tied_anew() -> None:
    rows = in_module().sensor(10, 3, "Rx power", WATTS, 120, precision=2)
    reader = bind(rows).ports[1]
    rows.put(f"{SENSOR}.4", (10,), -523)
    sample = reader.decode(rows.answer(reader.oids))
    assert sample.rebind
    assert sample.reading is not None
    assert sample.reading.rx is NOT_REPORTED


@pytest.mark.parametrize("status", [UNAVAILABLE, NONOPERATIONAL])
def test_a_sensor_that_is_out_of_order_reports_nothing(status: int) -> None:
    rows = optics(in_module(), 3, 10)
    rows.put(f"{SENSOR}.5", (14,), status)
    reading = read(rows).reading
    assert reading is not None
    assert reading.rx is NOT_REPORTED
    assert dbm(reading.tx) == -5.23


def test_no_watts_are_no_light() -> None:
    rows = optics(in_module(), 3, 10)
    rows.put(f"{SENSOR}.4", (14,), 0)
    assert read(rows).reading.rx is NO_LIGHT  # type: ignore[union-attr]


def test_zeros_everywhere_are_a_module_without_diagnostics() -> None:
    rows = optics(in_module(), 3, 10)
    for index in range(10, 15):
        rows.put(f"{SENSOR}.4", (index,), 0)
    reading = read(rows).reading
    assert reading is not None
    assert (reading.rx, reading.tx, reading.temp_c) == (NOT_REPORTED, NOT_REPORTED, None)


def test_the_first_lane_is_judged_and_the_others_are_said() -> None:
    rows = in_module()
    for lane in (1, 2, 3, 4):
        rows.sensor(20 + lane, 3, f"Lane {lane} Rx power", WATTS, 1000 * lane, scale=8, precision=4)
    bound = bind(rows)
    assert dbm(read(rows).reading.rx) == -10.00  # type: ignore[union-attr]
    assert bound.ports[1].remarks == (
        "judged by Lane 1 Rx power; further lanes: "
        "Lane 2 Rx power, Lane 3 Rx power, Lane 4 Rx power",
    )


def test_lanes_of_a_split_port_go_to_their_interfaces() -> None:
    rows = Rows().entity(1, 0, CHASSIS).entity(3, 1, MODULE).alias(3, 1, logical=1)
    rows.alias(3, 2, logical=2)
    rows.sensor(21, 3, "Channel 1 Rx power", WATTS, 1000, scale=8, precision=4)
    rows.sensor(22, 3, "Channel 2 Rx power", WATTS, 2999, scale=8, precision=4)
    rows.sensor(23, 3, "Temperature", CELSIUS, 35)
    first, second = read(rows, 1).reading, read(rows, 2).reading
    assert first is not None
    assert second is not None
    assert (dbm(first.rx), dbm(second.rx)) == (-10.00, -5.23)
    assert (first.temp_c, second.temp_c) == (35.0, 35.0)


def test_of_two_currents_the_bias_is_taken() -> None:
    rows = optics(in_module(), 3, 10)
    rows.sensor(5, 3, "Heater current", AMPERES, 9)
    assert read(rows).reading.bias_ma == 36.1  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("name", "receives"),
    [
        ("RxPower", True),
        ("Receive Power Sensor", True),
        ("Input optical power", True),
        ("Gi1 Module Rx Power", True),
        ("TxPower", False),
        ("Transmitted power", False),
        ("Output optical power", False),
        ("tx_power", False),
    ],
)
def test_words_for_receiving_and_sending(name: str, receives: bool) -> None:
    rows = in_module().sensor(10, 3, name, WATTS, 1000, scale=8, precision=4)
    reading = read(rows).reading
    assert reading is not None
    assert (isinstance(reading.rx, Measured), isinstance(reading.tx, Measured)) == (
        receives,
        not receives,
    )


def test_watts_that_say_nothing_of_direction_are_not_light() -> None:
    rows = in_module().sensor(10, 3, "Power consumption", WATTS, 4)
    assert bind(rows).ports == {}


def test_rows_that_are_gone_are_a_module_that_is_gone() -> None:
    rows = optics(in_module(), 3, 10)
    reader = bind(rows).ports[1]
    gone: dict[Oid, Value] = dict.fromkeys(reader.oids, Absent.NO_SUCH_INSTANCE)
    sample = reader.decode(gone)
    assert sample.module is ModuleState.GONE
    assert sample.reading is not None
    assert sample.reading.rx is NOT_REPORTED


@pytest.mark.parametrize("absent", [Absent.NOT_ANSWERED, Absent.FAILED])
def test_rows_that_were_not_answered_say_nothing(absent: Absent) -> None:
    reader = bind(optics(in_module(), 3, 10)).ports[1]
    values: dict[Oid, Value] = dict.fromkeys(reader.oids, absent)
    assert reader.decode(values) == Sample(reading=None)
    assert reader.decode({}) == Sample(reading=None)


def test_the_time_of_a_value_is_asked_only_where_it_is_kept() -> None:
    plain = bind(optics(in_module(), 3, 10)).ports[1]
    assert not any(
        oid[: len(parse_oid(SENSOR)) + 1] == parse_oid(f"{SENSOR}.7") for oid in plain.oids
    )
    rows = in_module().sensor(10, 3, "Rx power", WATTS, 1000, scale=8, precision=4, stamp=4711)
    assert read(rows).sampled_cs == 4711


def test_a_padded_serial_number_is_trimmed_and_an_empty_one_is_none() -> None:
    rows = optics(in_module(), 3, 10)
    rows.put("1.3.6.1.2.1.47.1.1.1.1.11", (3,), b"T-0002  \0\0")
    assert read(rows).module_id == "T-0002"
    rows.put("1.3.6.1.2.1.47.1.1.1.1.11", (3,), b"    ")
    reader = bind(optics(in_module(), 3, 10)).ports[1]
    assert reader.decode(rows.answer(reader.oids)).module_id is None


VALUES = st.one_of(
    st.integers(-(2**40), 2**40),
    st.binary(max_size=12),
    st.lists(st.integers(0, 300), max_size=6).map(tuple),
    st.sampled_from(list(Absent)),
)
COLUMNS = [*READER.columns]


@given(
    st.dictionaries(
        st.sampled_from(COLUMNS),
        st.dictionaries(
            st.lists(st.integers(0, 6), min_size=1, max_size=2).map(tuple), VALUES, max_size=8
        ),
    ),
    st.data(),
)
def test_whatever_is_walked_and_answered_nothing_breaks(
    tables: dict[Oid, dict[Oid, Value]], data: st.DataObject
) -> None:
    bound = READER.bind(tables, PORTS)
    for reader in bound.ports.values():
        answer = data.draw(st.dictionaries(st.sampled_from(list(reader.oids)), VALUES))
        reader.decode(answer)


@pytest.mark.parametrize("cell", [("2", 2**31), ("2", -1), ("3", 300), ("4", 2**40)])
def test_cells_beyond_the_standard_give_no_reading(cell: tuple[str, int]) -> None:
    rows = in_module().sensor(10, 3, "Rx power", WATTS, 1000, scale=8, precision=4)
    rows.sensor(11, 3, "Tx power", WATTS, 1000, scale=8, precision=4)
    rows.put(f"{SENSOR}.{cell[0]}", (10,), cell[1])
    reading = read(rows).reading
    assert reading is not None
    assert reading.rx is NOT_REPORTED


def test_supply_and_temperature_have_their_types() -> None:
    rows = in_module().sensor(10, 3, "Rx power", WATTS, 1000, scale=8, precision=4)
    rows.sensor(11, 3, "Volts", VOLTS, 331, precision=2)
    rows.sensor(12, 3, "Degrees", CELSIUS, -5)
    reading = read(rows).reading
    assert reading is not None
    assert (reading.vcc_v, reading.temp_c) == (3.31, -5.0)
