"""Held out: text cells."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    constant,
    kind,
    name,
    one_row_each,
    optic_name,
    port_number,
    random_walk,
    serial,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, port_row, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity

CLOSE: Final = texts(
    (
        (unit.DEGREE, "{v:.1f}C"),
        (unit.VOLT, "{v:.2f}V"),
        (unit.MILLIAMPERE, "{v:.1f}mA"),
        (unit.ONE_DBM, "{v:.2f}dBm"),
    ),
    dark="-INF dBm",
    missing="No module",
)
MILLIWATTS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f}"),
        (unit.VOLT, "{v:.2f}"),
        (unit.MILLIAMPERE, "{v:.1f}"),
        (unit.ONE_MILLIWATT, "{v:.3f} mW"),
    ),
    dark="0.000 mW",
    comma=True,
)
BARE: Final = texts(
    (
        (unit.DEGREE, "{v:.0f}"),
        (unit.VOLT, "{v:.2f}"),
        (unit.MILLIAMPERE, "{v:.2f}"),
        (unit.ONE_DBM, "{v:.2f}"),
    ),
    dark="-40.00",
    missing="-",
)
DIGITS: Final = texts(
    (
        (unit.DECI_DEGREE, "{v:.0f}"),
        (unit.MILLIVOLT, "{v:.0f}"),
        (unit.MICROAMPERE, "{v:.0f}"),
        (unit.NANOWATT, "{v:.0f}"),
    ),
    dark="0",
    missing="",
)
TYPESET: Final = texts(
    (
        (unit.DEGREE, " {v:.1f} degC\0"),
        (unit.VOLT, " {v:.3f} Volts\0"),
        (unit.MILLIAMPERE, " {v:.2f} mA\0"),
        (unit.ONE_DBM, " {v:.2f} dBm\r\n"),
    ),
    dark="\u2212\u221e dBm\r\n",
    minus="\u2212",
)
BOTH_WAYS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.1f} mA"),
        (unit.ONE_DBM, "{mw:.4f} mW ({dbm:.2f} dBm)"),
    ),
    dark="0.0000 mW (no light)",
)
LABELS: Final = {
    TX: "TX Power",
    RX: "RX Power",
    TEMPERATURE: "Temperature",
    SUPPLY: "Voltage",
    BIAS: "Current",
}

DAMSON: Final = Personality(
    name="damson",
    about="units without a blank, the front panel's number and 47 more",
    arc=304,
    ports=port_row(0, "LDLE", name="D{}"),
    interfaces=Interfaces(first=2),
    tables=(
        Table(
            arc=(2, 4, 1),
            index=Index(kind=IndexKind.PANEL, offset=47),
            rows=Rows.SLOTS,
            columns=(optic_name(1), *five((3, 4, 5, 6, 7), CLOSE)),
        ),
    ),
)

JASMINE: Final = Personality(
    name="jasmine",
    about="mW with decimal commas, bare numbers for the rest",
    arc=310,
    ports=port_row(0, "LLD", name="J{}"),
    tables=(
        Table(
            arc=(1, 5, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(serial(1), *five((6, 5, 4, 2, 3), MILLIWATTS)),
        ),
    ),
)

MAPLE: Final = Personality(
    name="maple",
    about="SNMPv1 only, bare numbers as text, -40.00 for no light",
    arc=313,
    ports=port_row(2, "LLDE", name="m{}"),
    interfaces=Interfaces(wide_counters=False, lldp=False),
    manners=Manners(versions=(0,), max_octets=900),
    tables=(
        Table(
            arc=(4, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(name(1), *five((2, 3, 4, 5, 6), BARE)),
        ),
    ),
)

SORREL: Final = Personality(
    name="sorrel",
    about="whole numbers written as text, powers in nW",
    arc=319,
    ports=port_row(2, "LLDE", name="so{}"),
    tables=(
        Table(
            arc=(3, 1, 1),
            index=Index(kind=IndexKind.RUNNING),
            rows=Rows.SLOTS,
            columns=(port_number(1), *five((5, 4, 3, 2, 6), DIGITS), random_walk(9, 50, 5)),
        ),
    ),
)

UMBEL: Final = Personality(
    name="umbel",
    about="typeset minus, blanks, NULs and line ends; the same description on all ports",
    arc=321,
    ports=port_row(2, "LLD", name="u{}"),
    interfaces=Interfaces(names="all the same descr"),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(five((1, 2, 3, 4, 5), TYPESET)),
        ),
    ),
)

YARROW: Final = Personality(
    name="yarrow",
    about="one row a sensor, labels in words, both units in a cell",
    arc=324,
    ports=port_row(0, "LLD", name="ya{}"),
    interfaces=Interfaces(first=70),
    tables=(
        Table(
            arc=(9, 1),
            index=Index(kind=IndexKind.RUNNING, kinds=LABELS),
            columns=(
                name(1, "Interface {}"),
                kind(2, LABELS),
                one_row_each(3, BOTH_WAYS),
                constant(4, "ok"),
            ),
        ),
    ),
)

THRIFT: Final = Personality(
    name="thrift",
    about="ifIndex.lane, four lanes from 1, bare numbers as text",
    arc=327,
    ports=port_row(0, "LLE", name="th{}", optic="40GBASE-LR4", lanes=4),
    interfaces=Interfaces(first=100),
    tables=(
        Table(
            arc=(7, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=1),
            columns=(constant(1, "lane"), *five((4, 5, 6, 7, 8), BARE)),
        ),
    ),
)

LANES_IN_WORDS: Final = (THRIFT,)
WORDS: Final = (DAMSON, JASMINE, MAPLE, SORREL, UMBEL, YARROW)
