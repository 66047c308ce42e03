"""Invented switches that publish no receive power, and could be thought to."""

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
from tests.bench.held_out_agents_3.forms import bounds, whole

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    constant,
    figure,
    name,
    optic_name,
    serial,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import port_row, texts
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["GNEISS", "SHALE", "SLATE", "TOPAZ"]

GNEISS_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM), dark=-4000
)
GNEISS: Final = Personality(
    name="gneiss",
    about="temperature, supply and bias of the modules; of the powers the thresholds alone",
    arc=751,
    ports=port_row(8, "LLLDE", name="N{}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=17),
    tables=(
        Table(
            arc=(2, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                figure(1, Quantity.TEMPERATURE, GNEISS_CELLS[Quantity.TEMPERATURE]),
                figure(2, Quantity.SUPPLY, GNEISS_CELLS[Quantity.SUPPLY]),
                figure(3, Quantity.BIAS, GNEISS_CELLS[Quantity.BIAS]),
                *bounds(4, Quantity.TX, GNEISS_CELLS[Quantity.TX]),
                *bounds(8, Quantity.RX, GNEISS_CELLS[Quantity.RX]),
            ),
        ),
        traffic((2, 2, 1)),
    ),
)

SHALE_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} C"),
        (unit.VOLT, "{v:.2f} V"),
        (unit.MILLIAMPERE, "{v:.1f} mA"),
        (unit.ONE_DBM, "{v:.1f} dBm"),
    ),
    dark="-inf",
    missing="N/A",
)
SHALE: Final = Personality(
    name="shale",
    about="of the modules the temperature alone, as text; cables feed and fans turn",
    arc=752,
    ports=port_row(12, "LLLDE", name="h{}", optic="1000BASE-SX"),
    tables=(
        feeding((1, 1, 1)),
        *fans((1, 2, 1), 2),
        cabinet((1, 3)),
        Table(
            arc=(1, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                optic_name(1),
                serial(2),
                figure(3, Quantity.TEMPERATURE, SHALE_CELLS[Quantity.TEMPERATURE]),
            ),
        ),
    ),
)

SLATE: Final = Personality(
    name="slate",
    about="what the modules are and nothing that they measure; counters, load and fed watts",
    arc=754,
    ports=port_row(24, "LLDE", name="G{}"),
    interfaces=Interfaces(first=10_001),
    tables=(
        load((3, 1)),
        feeding((3, 2, 1)),
        traffic((3, 3, 1)),
        Table(
            arc=(3, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                name(1),
                optic_name(2),
                serial(3),
                wavelength(4),
                constant(5, 13),  # 100 Mbit/s
                constant(6, 10_000),  # reach in m
            ),
        ),
    ),
)

TOPAZ: Final = Personality(
    name="topaz",
    about="the optics are among the standard sensors alone; its own tables are of other things",
    arc=755,
    ports=port_row(8, "LLLD", name="T{}"),
    sensors=Sensors(),
    tables=(settings((5, 1, 1)), cabinet((5, 2)), *fans((5, 3, 1), 3), traffic((5, 4, 1))),
)
