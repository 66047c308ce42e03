"""Invented switches with one row a port and whole numbers in it."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_3.background import (
    cabinet,
    fans,
    feeding,
    load,
    settings,
    traffic,
)
from tests.bench.held_out_agents_3.forms import bounded, bounds, whole

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    alarm,
    constant,
    held,
    if_ref,
    name,
    optic_name,
    port_number,
    serial,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, port_row
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["AGATE", "ASPEN", "BASALT", "COPAL", "JASPER", "PUMICE", "SCHIST", "SPRUCE"]

AGATE_CELLS: Final = whole(
    (unit.CENTI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM),
    dark=-4000,
    missing=0,
    missing_power=-4000,
)
AGATE: Final = Personality(
    name="agate",
    about="by ifIndex, rows of empty slots too, 0.01 dBm with -4000; cables feed, fans turn",
    arc=701,
    ports=port_row(24, "LLDE", name="1/{}", optic="10GBASE-LR"),
    tables=(
        feeding((1, 2, 1)),
        *fans((1, 3, 1), 3),
        load((1, 4)),
        Table(
            arc=(1, 6, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(if_ref(1), *five((2, 3, 4, 5, 6), AGATE_CELLS)),
        ),
    ),
)

ASPEN_CELLS: Final = whole(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
ASPEN: Final = Personality(
    name="aspen",
    about="by ifIndex from 513, as the module stores them, each with four thresholds behind it",
    arc=703,
    ports=port_row(8, "LDLL", name="xe {}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=513, mau=False),
    manners=Manners(max_octets=1400),
    tables=(
        traffic((4, 1, 1), wide=True),
        Table(
            arc=(4, 7, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                optic_name(1),
                serial(2),
                wavelength(3),
                *bounded(10, Quantity.TEMPERATURE, ASPEN_CELLS[Quantity.TEMPERATURE]),
                *bounded(15, Quantity.SUPPLY, ASPEN_CELLS[Quantity.SUPPLY]),
                *bounded(20, Quantity.BIAS, ASPEN_CELLS[Quantity.BIAS]),
                *bounded(25, Quantity.TX, ASPEN_CELLS[Quantity.TX]),
                *bounded(30, Quantity.RX, ASPEN_CELLS[Quantity.RX]),
            ),
        ),
    ),
)

JASPER_CELLS: Final = whole(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.DECI_DBM), dark=-400
)
JASPER: Final = Personality(
    name="jasper",
    about="by slot.port, 0.1 dBm, received power first and temperature last; 48 copper ports",
    arc=704,
    ports=port_row(48, "LLDN", name="0/{}"),
    interfaces=Interfaces(first=1001),
    tables=(
        settings((2, 1, 1), kind=IndexKind.UNIT_PORT),
        feeding((2, 3, 1), kind=IndexKind.UNIT_PORT),
        Table(
            arc=(2, 11, 1),
            index=Index(kind=IndexKind.UNIT_PORT),
            columns=(
                name(3),
                *five((8, 7, 6, 5, 4), JASPER_CELLS),
                constant(9, 7),  # the connector's code
            ),
        ),
    ),
)

COPAL_CELLS: Final = whole(
    (unit.DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.ONE_MICROWATT), syntax=Syntax.GAUGE
)
COPAL: Final = Personality(
    name="copal",
    about="by entPhysicalIndex in µW, transmit and receive before the rest; standard temperatures",
    arc=707,
    ports=port_row(4, "LLDLE", name="slot {}", optic="1000BASE-SX"),
    interfaces=Interfaces(first=65, step=2),
    sensors=Sensors(quantities=frozenset({Quantity.TEMPERATURE})),
    tables=(
        cabinet((9, 1)),
        Table(
            arc=(9, 4, 2, 1),
            index=Index(kind=IndexKind.ENTITY),
            columns=(
                constant(2, 1),
                wavelength(3),
                *five((8, 7, 6, 4, 5), COPAL_CELLS),
                serial(9),
            ),
        ),
    ),
)

PUMICE_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.NANOWATT),
    missing=0,
    syntax=Syntax.GAUGE,
)
PUMICE: Final = Personality(
    name="pumice",
    about="by ifIndex, rows for all 52 ports with 0 where nothing measures, nW, read every 10 s",
    arc=709,
    ports=port_row(48, "LLDE", name="port{}", optic="10GBASE-SR"),
    manners=Manners(stalls_s=10.0),
    tables=(
        load((3, 1)),
        feeding((3, 2, 1)),
        Table(
            arc=(3, 5, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                port_number(1),
                optic_name(2),
                *five((3, 4, 5, 6, 7), PUMICE_CELLS),
            ),
        ),
    ),
)

SCHIST_CELLS: Final = whole(
    (unit.CENTI_DEGREE, unit.CENTIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM), dark=-5000
)
SCHIST: Final = Personality(
    name="schist",
    about="by ifIndex, 0.01 dBm with powers first; the thresholds in a table of their own",
    arc=710,
    ports=port_row(8, "LLLD", name="G{}"),
    interfaces=Interfaces(names="descr only"),
    tables=(
        Table(
            arc=(5, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(five((5, 4, 3, 2, 1), SCHIST_CELLS)),
        ),
        Table(
            arc=(5, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate(reversed(Quantity))
                for column in bounds(1 + 4 * place, quantity, SCHIST_CELLS[quantity])
            ),
        ),
        traffic((5, 3, 1)),
    ),
)

SPRUCE_CELLS: Final = whole(
    (unit.MILLI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.MILLI_DBM), dark=-40_000
)
SPRUCE: Final = Personality(
    name="spruce",
    about="by ifIndex, 0.001 dBm, the day's highest and lowest and an alarm beside each power",
    arc=713,
    ports=port_row(0, "LLLDLE", name="line {}", optic="1000BASE-ZX"),
    interfaces=Interfaces(first=201, names="all the same descr"),
    tables=(
        *fans((8, 2, 1), 2),
        Table(
            arc=(8, 3, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                *five((1, 2, 3, 4, 8), SPRUCE_CELLS),
                held(5, Quantity.TX, SPRUCE_CELLS[Quantity.TX], off=1),
                held(6, Quantity.TX, SPRUCE_CELLS[Quantity.TX], off=-1),
                alarm(7, Quantity.TX),
                held(9, Quantity.RX, SPRUCE_CELLS[Quantity.RX], off=1),
                held(10, Quantity.RX, SPRUCE_CELLS[Quantity.RX], off=-1),
                alarm(11, Quantity.RX),
            ),
        ),
    ),
)

BASALT_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM),
    dark=-4000,
    missing=0,
)
BASALT: Final = Personality(
    name="basalt",
    about="24 slots by port number, most dark or empty; 0.01 dBm, -4000 dark, 0 where nothing is",
    arc=716,
    ports=port_row(0, "LLDDLLDDEENNDDDEEEEEDLLD", name="F{}"),
    interfaces=Interfaces(first=101),
    manners=Manners(stalls_s=5.0, max_varbinds=20),
    tables=(
        settings((1, 1, 1), kind=IndexKind.PANEL),
        Table(
            arc=(1, 8, 1),
            index=Index(kind=IndexKind.PANEL),
            rows=Rows.SLOTS,
            columns=(
                wavelength(1),
                constant(2, 1),
                *five((3, 4, 7, 6, 5), BASALT_CELLS),
            ),
        ),
        cabinet((1, 9)),
    ),
)
