"""Invented switches that publish their optics as text, or in a way of their own."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    constant,
    kind,
    name,
    one_row_each,
    optic_name,
    random_walk,
    serial,
    uptime,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, integers, port_row, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["TEXTS"]

WITH_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.1f} mA"),
        (unit.ONE_DBM, "{v:.2f} dBm"),
    ),
    dark="-inf",
    missing="N/A",
)
BARE: Final = texts(
    (
        (unit.DEGREE, "{v:.2f}"),
        (unit.VOLT, "{v:.3f}"),
        (unit.MILLIAMPERE, "{v:.2f}"),
        (unit.ONE_MILLIWATT, "{v:.4f}"),
    ),
    dark="0.0000",
    missing="--",
)
BOTH: Final = texts(
    (
        (unit.DEGREE, "{v:.0f} °C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.2f} mA"),
        (unit.ONE_DBM, "{dbm:.2f} dBm / {mw:.3f} mW"),
    ),
    dark="-- / 0,000 mW",
    missing="kein Modul",
    comma=True,
)
NAMED: Final = {
    Quantity.TEMPERATURE: "temp",
    Quantity.SUPPLY: "vcc",
    Quantity.BIAS: "ibias",
    Quantity.TX: "ptx",
    Quantity.RX: "prx",
}
COUNTS: Final = integers((unit.DEGREE_256, unit.MILLIVOLT, unit.MICROAMPERE, unit.TENTH_MICROWATT))
PLAIN: Final = integers(
    (unit.DEGREE, unit.MILLIVOLT, unit.TENTH_MILLIAMPERE, unit.CENTI_DBM), dark=-4000
)

HEATH: Final = Personality(
    name="heath",
    about="text with units, -inf for no light, N/A without a module",
    arc=103,
    ports=port_row(4, "LDLE", name="0.{}"),
    tables=(
        Table(
            arc=(6, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                name(1),
                optic_name(2),
                serial(3),
                *five((4, 5, 6, 8, 7), WITH_UNITS),
            ),
        ),
    ),
)

TARN: Final = Personality(
    name="tarn",
    about="scalars of its single module, bare numbers as text, powers in mW",
    arc=108,
    ports=port_row(4, "L", name="uplink{}"),
    interfaces=Interfaces(mau=False, lldp=False),
    tables=(
        Table(
            arc=(2, 5),
            index=Index(kind=IndexKind.SCALAR),
            only=5,
            columns=(
                *five((1, 2, 3, 4, 5), BARE),
                serial(6),
                random_walk(7, 12, 6),
                uptime(8),
            ),
        ),
    ),
)

DELTA: Final = Personality(
    name="delta",
    about="decimal commas, dBm and mW in one cell, words of another language for a missing module",
    arc=109,
    ports=port_row(2, "LLD", name="A{}"),
    tables=(
        Table(
            arc=(1, 3, 1),
            index=Index(kind=IndexKind.UNIT_PORT),
            rows=Rows.SLOTS,
            columns=(constant(1, "ja"), *five((2, 3, 4, 5, 6), BOTH)),
        ),
    ),
)

SHOAL: Final = Personality(
    name="shoal",
    about="running row numbers, one row a sensor, port and quantity told by words in columns",
    arc=110,
    ports=port_row(2, "LLDN", name="sfp-{}"),
    interfaces=Interfaces(first=33),
    tables=(
        Table(
            arc=(3, 2, 1),
            index=Index(kind=IndexKind.RUNNING, kinds=NAMED),
            columns=(
                name(2),
                kind(3, NAMED),
                one_row_each(4, COUNTS),
                constant(5, 1),
            ),
        ),
    ),
)

SKERRY: Final = Personality(
    name="skerry",
    about="small answers, large ones dropped, ifIndex moved by a restart, hardware read twice a "
    "minute",
    arc=113,
    ports=port_row(2, "LLE", name="Gi{}"),
    interfaces=Interfaces(first=500, moves_by=40),
    manners=Manners(max_octets=484, drop_octets=1200, drop_varbinds=10, stalls_s=30.0),
    tables=(
        Table(
            arc=(9, 9, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(five((1, 2, 3, 4, 5), PLAIN)),
        ),
    ),
)


TEXTS: Final = (HEATH, TARN, DELTA, SHOAL, SKERRY)
