"""Held out: numbers of one row a sensor, of mixed units, of a single port, or of no optics."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding
from strandkeeper_demo.personalities.columns import (
    Limit,
    constant,
    counter,
    entity_ref,
    figure,
    kind,
    limit,
    name,
    one_row_each,
    optic_name,
    random_walk,
    uptime,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, integers, port_row
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity

NANO: Final = integers((unit.DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.NANOWATT))
TENTHS: Final = integers(
    (unit.DECI_DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.DECI_DBM), dark=-999
)
STORED: Final = integers(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
SINGLE: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.CENTI_DBM), dark=-4000
)
MIXED: Final = {
    TEMPERATURE: Coding(unit=unit.DECI_DEGREE),
    SUPPLY: Coding(unit=unit.MILLIVOLT),
    BIAS: Coding(unit=unit.TWO_MICROAMPERE),
    TX: Coding(unit=unit.CENTI_DBM, dark=-6000),
    RX: Coding(unit=unit.TENTH_MICROWATT),
}
ONE_COUNT: Final = integers(
    (unit.DEGREE_256, unit.MILLIVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT),
    dark=1,
    missing=0,
)
FLOORED: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.CENTI_DBM), dark=-3696
)
KINDS: Final = {RX: 1, TX: 2, TEMPERATURE: 3, BIAS: 4, SUPPLY: 5}
ARBITRARY: Final = {SUPPLY: 7, TEMPERATURE: 11, BIAS: 24, RX: 30, TX: 31}

CEDAR: Final = Personality(
    name="cedar",
    about="kind.ifIndex, no type column beside the index, nW",
    arc=303,
    ports=port_row(2, "LLDE", name="ce{}"),
    interfaces=Interfaces(first=17),
    tables=(
        Table(
            arc=(9, 2, 1),
            index=Index(kind=IndexKind.KIND_IF_INDEX, kinds=KINDS),
            columns=(
                one_row_each(1, NANO),
                limit(2, None, Limit.HIGH_ALARM, NANO),
                limit(3, None, Limit.LOW_ALARM, NANO),
            ),
        ),
    ),
)

IVY: Final = Personality(
    name="ivy",
    about="running rows, arbitrary type numbers, the module's entity in a column, 0.1 dBm",
    arc=309,
    ports=port_row(0, "LLD", name="iv{}"),
    sensors=Sensors(quantities=frozenset({TEMPERATURE}), alias=True),
    tables=(
        Table(
            arc=(3, 3, 1),
            index=Index(kind=IndexKind.RUNNING, offset=100, kinds=ARBITRARY),
            columns=(
                entity_ref(1),
                kind(2, ARBITRARY),
                one_row_each(3, TENTHS),
                constant(4, 1),
                uptime(5),
            ),
        ),
    ),
)

GORSE: Final = Personality(
    name="gorse",
    about="both powers twice: in 0.01 dBm and in 0.1 µW",
    arc=307,
    ports=port_row(4, "LLDE", name="Gi{}"),
    interfaces=Interfaces(first=5),
    tables=(
        Table(
            arc=(1, 2, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                optic_name(1),
                figure(2, TEMPERATURE, Coding(unit=unit.DEGREE_256)),
                figure(3, SUPPLY, Coding(unit=unit.HUNDRED_MICROVOLT)),
                figure(4, BIAS, Coding(unit=unit.TWO_MICROAMPERE)),
                figure(5, TX, Coding(unit=unit.TENTH_MICROWATT)),
                figure(6, TX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
                figure(7, RX, Coding(unit=unit.TENTH_MICROWATT)),
                figure(8, RX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
            ),
        ),
    ),
)

HAZEL: Final = Personality(
    name="hazel",
    about="scalars of a single port, 0.01 dBm, among scalars of the chassis",
    arc=308,
    ports=port_row(5, "L", name="{}"),
    interfaces=Interfaces(mau=False),
    tables=(
        Table(
            arc=(1,),
            index=Index(kind=IndexKind.SCALAR),
            only=6,
            columns=(
                random_walk(1, 41, 3),  # of the chassis
                random_walk(2, 1205, 6),  # its 12 V in hundredths
                random_walk(3, 3100, 150),
                *five((10, 11, 12, 13, 14), SINGLE),
                uptime(20),
            ),
        ),
    ),
)

POPLAR: Final = Personality(
    name="poplar",
    about="the front panel's number, transmit in 0.01 dBm but receive in 0.1 µW",
    arc=316,
    ports=port_row(8, "LLD", name="port{}"),
    interfaces=Interfaces(first=1, step=8),
    tables=(
        Table(
            arc=(6, 6, 1),
            index=Index(kind=IndexKind.PANEL),
            columns=tuple(five((1, 2, 3, 4, 5), MIXED)),
        ),
    ),
)

QUINCE: Final = Personality(
    name="quince",
    about="receive power alone, 0.01 dBm, in a table of counters and watts",
    arc=317,
    ports=port_row(4, "LLDL", name="q{}"),
    tables=(
        Table(
            arc=(2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                counter(1, 500.0),
                counter(2, 1.2e6, wide=True),
                random_walk(3, 6100, 700),
                figure(4, RX, Coding(unit=unit.CENTI_DBM, dark=-5000)),
                constant(5, 1),
                random_walk(6, 40, 20),
            ),
        ),
    ),
)

VETCH: Final = Personality(
    name="vetch",
    about="rows of copper ports too, one count of 0.1 µW for no light",
    arc=322,
    ports=port_row(4, "LDLE", name="ve{}"),
    interfaces=Interfaces(first=1, ether_like=False),
    tables=(
        Table(
            arc=(8, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(random_walk(1, 30, 9), *five((2, 3, 4, 5, 6), ONE_COUNT)),
        ),
    ),
)

WILLOW: Final = Personality(
    name="willow",
    about="all but receive power",
    arc=323,
    ports=port_row(2, "LLE", name="wi{}"),
    tables=(
        Table(
            arc=(5, 5, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                figure(1, TEMPERATURE, Coding(unit=unit.DECI_DEGREE)),
                figure(2, SUPPLY, Coding(unit=unit.MILLIVOLT)),
                figure(3, BIAS, Coding(unit=unit.MICROAMPERE)),
                figure(4, TX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
                constant(5, -1450),
            ),
        ),
    ),
)

OAK: Final = Personality(
    name="oak",
    about="no optics: rails of 3.3 and 12 V, degrees, fans, watts over the network cable",
    arc=315,
    ports=port_row(12, "", name="{}"),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                random_walk(1, 3304, 12),
                random_walk(2, 415, 30),
                random_walk(3, 12_020, 60),
                random_walk(4, 5600, 900),
                random_walk(5, 14_800, 300, syntax=Syntax.INTEGER),
                counter(6, 88.0),
                constant(7, -5),
            ),
        ),
    ),
)

BRACKEN: Final = Personality(
    name="bracken",
    about="optics in the standard sensors only; its own tables hold other things",
    arc=325,
    ports=port_row(2, "LLE", name="br{}"),
    sensors=Sensors(alias=False),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                random_walk(1, 47, 4),
                random_walk(2, 5000, 200),
                random_walk(3, 900, 500),
                constant(4, 4094),
                counter(5, 77.0),
            ),
        ),
    ),
)

SEDGE: Final = Personality(
    name="sedge",
    about="running rows that only a name ties to ports, -36.96 for no light, sensors broken",
    arc=328,
    ports=port_row(3, "LLDE", name="se{}"),
    interfaces=Interfaces(first=71),
    sensors=Sensors(status=3),
    tables=(
        Table(
            arc=(4, 4, 1),
            index=Index(kind=IndexKind.RUNNING, offset=10),
            columns=(name(2), *five((9, 8, 7, 6, 5), FLOORED)),
        ),
    ),
)

ODD_NUMBERS: Final = (
    *(SEDGE, CEDAR, IVY, GORSE, HAZEL, POPLAR, QUINCE),
    *(VETCH, WILLOW, BRACKEN, OAK),
)
