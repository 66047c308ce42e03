"""Invented switches that publish their optics as whole numbers."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    Limit,
    alarm,
    constant,
    counter,
    if_ref,
    kind,
    limit,
    one_row_each,
    optic_name,
    random_walk,
    serial,
    uptime,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, integers, port_row, with_limits
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["NUMBERS"]

HUNDREDTHS: Final = integers(
    (unit.CENTI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM), dark=-4000
)
AS_STORED: Final = integers(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
COARSE: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.ONE_MICROWATT), syntax=Syntax.GAUGE
)
TENTHS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TENTH_MILLIAMPERE, unit.DECI_DBM), dark=-400
)
FINE: Final = integers(
    (unit.DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.MILLI_DBM), dark=-2_147_483_648
)
SENTINEL: Final = integers(
    (unit.DECI_DEGREE, unit.CENTIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM),
    dark=-214_748_364,
    missing=-214_748_364,
)
MIXED: Final = integers(
    (unit.DECI_DEGREE, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.NANOWATT)
)
FLOORED: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM),
    dark=-4000,
    missing=-32_768,
)
KINDS: Final = dict(zip(Quantity, (1, 2, 3, 4, 5), strict=True))

RIDGE: Final = Personality(
    name="ridge",
    about="by ifIndex, powers in 0.01 dBm with -4000 for no light, module identity beside them",
    arc=101,
    ports=port_row(4, "LLDE", name="Gi1/{}"),
    tables=(
        Table(
            arc=(2, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(optic_name(2), serial(3), wavelength(4), *five((5, 6, 7, 8, 9), HUNDREDTHS)),
        ),
        Table(
            arc=(7, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(counter(1, 900.0), counter(2, 700.0), constant(3, 1500), uptime(4)),
        ),
    ),
)

FJORD: Final = Personality(
    name="fjord",
    about="by ifIndex, as the module stores them (0.1 µW), each with four thresholds behind it",
    arc=102,
    ports=port_row(2, "LDLE", name="Eth{}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=10101, mau=False),
    tables=(
        Table(
            arc=(1, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate(Quantity)
                for column in with_limits(1 + 5 * place, quantity, AS_STORED[quantity])
            ),
        ),
    ),
)

MARSH: Final = Personality(
    name="marsh",
    about="by entPhysicalIndex in whole µW and °C; the standard sensors tell the same",
    arc=104,
    ports=port_row(0, "LLLD", name="Te{}", optic="10GBASE-SR"),
    interfaces=Interfaces(first=49),
    sensors=Sensors(),
    tables=(
        Table(
            arc=(11, 2, 1, 1),
            index=Index(kind=IndexKind.ENTITY),
            columns=(
                *five((7, 6, 5, 3, 4), COARSE),
                alarm(8, Quantity.RX),
                alarm(9, Quantity.TX),
                constant(10, 1),
            ),
        ),
    ),
)

CAIRN: Final = Personality(
    name="cairn",
    about="by the front panel's number less one, ifIndex in steps of 1000; powers in 0.1 dBm",
    arc=105,
    ports=port_row(8, "LLDD", name="port {}"),
    interfaces=Interfaces(first=1000, step=1000, names="descr only", ether_like=False),
    tables=(
        Table(
            arc=(3, 1, 1),
            index=Index(kind=IndexKind.PANEL, offset=-1),
            columns=(*five((2, 3, 4, 6, 5), TENTHS), random_walk(9, 5200, 300)),
        ),
    ),
)

MOOR: Final = Personality(
    name="moor",
    about="by ifIndex.lane, four lanes from 1, 0.001 dBm; temperature and supply in every lane",
    arc=106,
    ports=port_row(2, "LLE", name="Fo{}", optic="40GBASE-LR4", lanes=4),
    tables=(
        Table(
            arc=(5, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=1),
            columns=tuple(five((10, 11, 12, 14, 13), FINE)),
        ),
    ),
)

BROOK: Final = Personality(
    name="brook",
    about="by ifIndex.lane, four lanes from 0, as the module stores them, alarms beside them",
    arc=119,
    ports=port_row(0, "LLD", name="fourfold {}", optic="40GBASE-LR4", lanes=4),
    interfaces=Interfaces(first=8, step=4),
    tables=(
        Table(
            arc=(6, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=0),
            columns=(
                *five((6, 5, 4, 2, 3), AS_STORED),
                alarm(7, Quantity.RX),
                alarm(8, Quantity.BIAS),
            ),
        ),
    ),
)

CRAG: Final = Personality(
    name="crag",
    about="0.01 dBm with -32768 for an empty slot, while its standard sensors are unavailable",
    arc=120,
    ports=port_row(0, "LDEL", name="cr{}"),
    sensors=Sensors(status=2),
    tables=(
        Table(
            arc=(10, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(wavelength(1), *five((2, 3, 4, 5, 6), FLOORED)),
        ),
    ),
)

DUNE: Final = Personality(
    name="dune",
    about="one row a sensor, ifIndex.kind with a type column, thresholds in each row; nW",
    arc=107,
    ports=port_row(0, "LDLE", name="x{}"),
    tables=(
        Table(
            arc=(4, 1),
            index=Index(kind=IndexKind.IF_INDEX_KIND, kinds=KINDS),
            columns=(
                kind(2, KINDS),
                one_row_each(3, MIXED),
                limit(4, None, Limit.HIGH_ALARM, MIXED),
                limit(5, None, Limit.LOW_ALARM, MIXED),
                constant(6, 1),
            ),
        ),
    ),
)

GLADE: Final = Personality(
    name="glade",
    about="rows for every slot with -214748364 for all that is missing; no ifName; much else",
    arc=111,
    ports=port_row(6, "LLDEN", name="p{}"),
    interfaces=Interfaces(first=257, names="empty"),
    tables=(
        Table(
            arc=(1, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                random_walk(1, 15_400, 400),  # milliwatts over the network cable
                constant(2, 20),  # VLAN
                counter(3, 50.0),
                uptime(4),
                random_walk(5, 3300, 500),
            ),
        ),
        Table(
            arc=(1, 9, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(if_ref(1), *five((3, 4, 5, 6, 7), SENTINEL)),
        ),
        Table(
            arc=(2, 1, 1),
            index=Index(kind=IndexKind.RUNNING),
            rows=Rows.ALL,
            columns=(random_walk(1, 35, 12), random_walk(2, 4200, 250), constant(3, 3)),
        ),
    ),
)

SPIT: Final = Personality(
    name="spit",
    about="SNMPv1 only, 32-bit counters, small answers, thresholds never programmed",
    arc=112,
    ports=port_row(4, "LL", name="F{}", optic="100BASE-LX10"),
    interfaces=Interfaces(wide_counters=False, mau=False, lldp=False),
    manners=Manners(versions=(0,), max_octets=700),
    tables=(
        Table(
            arc=(8, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate(Quantity)
                for column in with_limits(
                    1 + 5 * place, quantity, AS_STORED[quantity], programmed=False
                )
            ),
        ),
    ),
)

NUMBERS: Final = (RIDGE, FJORD, MARSH, CAIRN, MOOR, BROOK, DUNE, CRAG, GLADE, SPIT)
