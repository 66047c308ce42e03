"""Invented switches that write their figures as text."""

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
from tests.bench.held_out_agents_3.forms import bound

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    Limit,
    constant,
    name,
    optic_name,
    port_number,
    serial,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, port_row, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["BEECH", "CHALK", "PINE", "QUARTZ", "YEW", "ZIRCON"]

BEECH_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.2f} C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.2f} mA"),
        (unit.ONE_DBM, "{v:.2f} dBm"),
    ),
    dark="-inf",
    missing="N/A",
)
BEECH: Final = Personality(
    name="beech",
    about="by port number, text with units, -inf without light, N/A in empty slots",
    arc=741,
    ports=port_row(16, "LLDE", name="{}"),
    tables=(
        feeding((1, 1, 1), kind=IndexKind.PANEL),
        Table(
            arc=(1, 3, 1, 1),
            index=Index(kind=IndexKind.PANEL),
            rows=Rows.SLOTS,
            columns=(
                port_number(1),
                optic_name(2),
                serial(3),
                *five((4, 5, 6, 7, 8), BEECH_CELLS),
            ),
        ),
    ),
)

PINE_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f}"),
        (unit.VOLT, "{v:.2f}"),
        (unit.MILLIAMPERE, "{v:.1f}"),
        (unit.ONE_MILLIWATT, "{v:.4f}"),
    ),
    dark="0.0000",
    missing="--",
)
PINE: Final = Personality(
    name="pine",
    about="SNMPv1 only, by port number less one, bare numbers as text, powers in mW; no ifName",
    arc=742,
    ports=port_row(8, "LLLDE", name="p{}"),
    interfaces=Interfaces(first=2, names="empty", wide_counters=False, mau=False),
    manners=Manners(versions=(0,), max_octets=1400),
    tables=(
        traffic((2, 1)),
        Table(
            arc=(2, 6),
            index=Index(kind=IndexKind.PANEL, offset=-1),
            rows=Rows.SLOTS,
            columns=(constant(1, "SFP"), *five((2, 4, 3, 5, 6), PINE_CELLS)),
        ),
    ),
)

ZIRCON_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.0f}C"),
        (unit.VOLT, "{v:.2f}V"),
        (unit.MILLIAMPERE, "{v:.1f}mA"),
        (unit.ONE_DBM, "{v:.1f}dBm"),
    ),
    dark="-40.0dBm",
    missing="",
)
ZIRCON: Final = Personality(
    name="zircon",
    about="by ifIndex, 16 ports of which 3 optical, units without a blank, empty texts elsewhere",
    arc=744,
    ports=port_row(13, "LLD", name="e{}", optic="100BASE-LX10"),
    interfaces=Interfaces(wide_counters=False, ether_like=False, mau=False),
    tables=(
        settings((5, 1)),
        Table(
            arc=(5, 2),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(name(1), *five((7, 6, 5, 3, 4), ZIRCON_CELLS)),
        ),
        cabinet((5, 9)),
    ),
)

YEW_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} degC"),
        (unit.MILLIVOLT, "{v:.0f} mV"),
        (unit.MILLIAMPERE, "{v:.2f} mA"),
        (unit.ONE_MICROWATT, "{v:.1f} uW"),
    ),
    dark="0.0 uW",
)
YEW: Final = Personality(
    name="yew",
    about="by slot.port, text in µW and mV with units; the lowest receive power stands beside it",
    arc=745,
    ports=port_row(4, "LLDLE", name="1.{}", optic="100BASE-LX10"),
    interfaces=Interfaces(first=100),
    tables=(
        Table(
            arc=(3, 2, 1),
            index=Index(kind=IndexKind.UNIT_PORT),
            columns=(
                serial(1),
                wavelength(2),
                *five((8, 7, 3, 4, 5), YEW_CELLS),
                bound(6, Quantity.RX, Limit.LOW_ALARM, YEW_CELLS[Quantity.RX]),
            ),
        ),
        *fans((3, 4, 1), 1),
    ),
)

CHALK_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} °C"),
        (unit.VOLT, "{v:.3f} V"),
        (unit.MILLIAMPERE, "{v:.1f} mA"),
        (unit.ONE_DBM, "{dbm:.2f} dBm / {mw:.4f} mW"),
    ),
    dark="no light",
    missing="no module",
)
CHALK: Final = Personality(
    name="chalk",
    about="by ifIndex, dBm and mW in one cell, words for no light and no module",
    arc=746,
    ports=port_row(0, "LLLLDDEN", name="sfp {}"),
    interfaces=Interfaces(first=10),
    manners=Manners(stalls_s=10.0),
    tables=(
        load((6, 1)),
        Table(
            arc=(6, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                optic_name(1),
                *five((2, 3, 4, 6, 5), CHALK_CELLS),
                constant(7, "yes"),
            ),
        ),
    ),
)

QUARTZ_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f}"),
        (unit.VOLT, "{v:.2f}"),
        (unit.MILLIAMPERE, "{v:.2f}"),
        (unit.ONE_DBM, "{v:.2f}"),
    ),
    dark="-99,00",
    comma=True,
)
QUARTZ: Final = Personality(
    name="quartz",
    about="by ifIndex, bare numbers with a decimal comma, dBm, -99,00 without light",
    arc=748,
    ports=port_row(6, "LLLDE", name="Port {}", optic="1000BASE-SX"),
    interfaces=Interfaces(first=1, lldp=False),
    tables=(
        feeding((4, 1, 1)),
        Table(
            arc=(4, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                *five((1, 2, 3, 5, 7), QUARTZ_CELLS),
                constant(4, "1"),
                bound(6, Quantity.TX, Limit.LOW_ALARM, QUARTZ_CELLS[Quantity.TX]),
                bound(8, Quantity.RX, Limit.LOW_ALARM, QUARTZ_CELLS[Quantity.RX]),
            ),
        ),
    ),
)
