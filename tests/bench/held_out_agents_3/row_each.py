"""Invented switches with one row a sensor."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_3.background import fans, feeding, load, settings, traffic
from tests.bench.held_out_agents_3.forms import bound_each, sensor_words, whole

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    Limit,
    constant,
    if_ref,
    kind,
    name,
    one_row_each,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import port_row, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["ELM", "FLINT", "LINDEN", "OPAL"]

ELM_CELLS: Final = whole(
    (unit.MILLI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.MILLI_DBM), dark=-40_000
)
ELM_KINDS: Final = {
    Quantity.TEMPERATURE: 1,
    Quantity.SUPPLY: 2,
    Quantity.BIAS: 3,
    Quantity.RX: 4,
    Quantity.TX: 5,
}
ELM: Final = Personality(
    name="elm",
    about="ifIndex.kind with a type column, thousandths of everything, four thresholds a row",
    arc=721,
    ports=port_row(4, "LLDL", name="sx{}", optic="1000BASE-SX"),
    tables=(
        Table(
            arc=(6, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX_KIND, kinds=ELM_KINDS),
            columns=(
                kind(2, ELM_KINDS),
                one_row_each(3, ELM_CELLS),
                constant(4, 1),
                bound_each(5, Limit.HIGH_ALARM, ELM_CELLS),
                bound_each(6, Limit.HIGH_WARNING, ELM_CELLS),
                bound_each(7, Limit.LOW_WARNING, ELM_CELLS),
                bound_each(8, Limit.LOW_ALARM, ELM_CELLS),
            ),
        ),
        feeding((6, 5, 1)),
    ),
)

LINDEN_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.1f} mA"),
        (unit.ONE_DBM, "{v:.2f} dBm"),
    ),
    dark="-inf dBm",
)
LINDEN_KINDS: Final = {
    Quantity.TEMPERATURE: "Temperature",
    Quantity.SUPPLY: "Voltage",
    Quantity.BIAS: "Bias",
    Quantity.TX: "TxPower",
    Quantity.RX: "RxPower",
}
LINDEN: Final = Personality(
    name="linden",
    about="running row numbers, port and quantity in words, values as text with their units",
    arc=722,
    ports=port_row(16, "LLDE", name="X{}", optic="10GBASE-SR"),
    interfaces=Interfaces(first=5001),
    tables=(
        load((10, 1)),
        *fans((10, 2, 1), 4),
        Table(
            arc=(10, 8, 1),
            index=Index(kind=IndexKind.RUNNING, kinds=LINDEN_KINDS),
            columns=(
                name(2),
                kind(3, LINDEN_KINDS),
                one_row_each(4, LINDEN_CELLS),
                constant(5, "normal"),
            ),
        ),
    ),
)

OPAL_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.HUNDRED_MICROVOLT, unit.MICROAMPERE, unit.TENTH_MICROWATT),
    missing=0,
)
OPAL_KINDS: Final = dict(zip(Quantity, (1, 2, 3, 4, 5), strict=True))
OPAL: Final = Personality(
    name="opal",
    about="kind.ifIndex, the kind in the index alone, 0.1 µW; 0 in the rows of empty slots",
    arc=724,
    ports=port_row(2, "LLDLE", name="Z{}", optic="1000BASE-ZX"),
    interfaces=Interfaces(first=11, lldp=False),
    tables=(
        Table(
            arc=(1, 5, 1),
            index=Index(kind=IndexKind.KIND_IF_INDEX, kinds=OPAL_KINDS),
            rows=Rows.SLOTS,
            columns=(
                one_row_each(3, OPAL_CELLS),
                constant(4, 1),
                bound_each(5, Limit.LOW_ALARM, OPAL_CELLS),
                bound_each(6, Limit.HIGH_ALARM, OPAL_CELLS),
            ),
        ),
        traffic((1, 7, 1)),
    ),
)

FLINT_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM), dark=-4000
)
FLINT_KINDS: Final = {
    Quantity.RX: 3,
    Quantity.TX: 2,
    Quantity.BIAS: 6,
    Quantity.SUPPLY: 5,
    Quantity.TEMPERATURE: 1,
}
FLINT_WORDS: Final = {
    Quantity.RX: "receive power",
    Quantity.TX: "transmit power",
    Quantity.BIAS: "laser bias current",
    Quantity.SUPPLY: "supply voltage",
    Quantity.TEMPERATURE: "temperature",
}
FLINT: Final = Personality(
    name="flint",
    about="sensors numbered from 1001, ifIndex, type and words in columns; 0.01 dBm; no ifName",
    arc=728,
    ports=port_row(8, "LLLD", name="te{}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=33, names="empty"),
    manners=Manners(stalls_s=15.0),
    tables=(
        settings((4, 1, 1)),
        Table(
            arc=(4, 4, 1, 1),
            index=Index(kind=IndexKind.RUNNING, offset=1000, kinds=FLINT_KINDS),
            columns=(
                sensor_words(2, FLINT_WORDS),
                if_ref(3),
                kind(4, FLINT_KINDS),
                one_row_each(5, FLINT_CELLS),
                bound_each(6, Limit.HIGH_ALARM, FLINT_CELLS),
                bound_each(7, Limit.LOW_ALARM, FLINT_CELLS),
                constant(8, 1),
            ),
        ),
    ),
)
