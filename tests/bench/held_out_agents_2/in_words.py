"""Held out, the second time: cells of text."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import (
    bay,
    bound,
    by_name,
    by_slot,
    chosen,
    fahrenheit,
    per_quantity,
    present,
    word_of_light,
)

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Unit
from strandkeeper_demo.personalities.columns import (
    constant,
    figure,
    kind,
    name,
    one_row_each,
    optic_name,
    port_number,
    random_walk,
    serial,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Fill, Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["IN_WORDS"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
LX, SX, ZX = "1000BASE-LX10", "1000BASE-SX", "1000BASE-ZX"
LR = "10GBASE-LR"

ONE_WATT: Final = Unit(1000.0, "mW")
ONE_AMPERE: Final = Unit(1000.0, "mA")

RUFF_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.2f} C"),
        (unit.VOLT, "{v:.3f} V"),
        (unit.MILLIAMPERE, "{v:.3f} mA"),
        (unit.ONE_DBM, "{v:.2f} dBm"),
    ),
    dark="-40.00 dBm",
    missing="N/A",
)
RUFF: Final = Personality(
    name="ruff",
    about="all ports, N/A where nothing measures, Fahrenheit beside Celsius",
    arc=521,
    ports=bay("GE{}", ("C" * 12 + "LLDNE", LX)),
    tables=(
        Table(
            arc=(1, 3, 5, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                chosen(
                    1,
                    {
                        Fill.COPPER: "copper",
                        Fill.LIT: "fiber",
                        Fill.DARK: "fiber",
                        Fill.NO_DDM: "fiber",
                        Fill.EMPTY: "none",
                    },
                ),
                fahrenheit(2, text="{v:.2f} F", missing="N/A"),
                *five((3, 4, 5, 6, 7), RUFF_UNITS),
            ),
        ),
    ),
)

SISKIN_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.0f}"),
        (unit.VOLT, "{v:.2f}"),
        (unit.MILLIAMPERE, "{v:.1f}"),
        (unit.ONE_DBM, "{v:.1f}   "),
    ),
    dark="-40.0 --",
)
SISKIN: Final = Personality(
    name="siskin",
    about="as its console prints it: marks of alarm behind the numbers, units in its manual",
    arc=522,
    ports=bay("Te1/1/{}", ("LLD", LR)),
    interfaces=Interfaces(first=57),
    tables=(
        Table(
            arc=(3, 9, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                name(1),
                figure(2, TEMPERATURE, SISKIN_UNITS[TEMPERATURE]),
                figure(3, SUPPLY, SISKIN_UNITS[SUPPLY]),
                figure(4, BIAS, SISKIN_UNITS[BIAS]),
                figure(5, TX, SISKIN_UNITS[TX]),
                bound(6, TX, 3.5, SISKIN_UNITS[TX]),
                bound(7, TX, -12.2, SISKIN_UNITS[TX]),
                figure(8, RX, SISKIN_UNITS[RX]),
                bound(9, RX, 3.5, SISKIN_UNITS[RX]),
                bound(10, RX, -18.4, SISKIN_UNITS[RX]),
            ),
        ),
    ),
)

TERN_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f} degrees C"),
        (unit.VOLT, "{v:.3f} V"),
        (unit.MICROAMPERE, "{v:.0f} uA"),
        (unit.ONE_MICROWATT, "{v:.1f} uW"),
    ),
    dark="0.0 uW",
    missing="not present",
)
TERN: Final = Personality(
    name="tern",
    about="µW and µA with units, by slot.port, figures from last to first; one table fails",
    arc=523,
    ports=bay("2/{}", ("LDLE", SX)),
    interfaces=Interfaces(first=201),
    tables=(
        Table(
            arc=(20, 1, 1),
            index=by_slot(2),
            rows=Rows.SLOTS,
            columns=(present(1, 1, 0), optic_name(2), *five((9, 8, 7, 6, 5), TERN_UNITS)),
        ),
        Table(
            arc=(20, 9, 1),
            index=by_slot(2),
            columns=(constant(1, 0), constant(2, 0)),
        ),
    ),
    manners=Manners(gen_err=(1, 3, 6, 1, 4, 1, 32473, 523, 20, 9)),
)

WAGTAIL_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.3e}"),
        (unit.VOLT, "{v:.3e}"),
        (ONE_AMPERE, "{v:.3e}"),
        (ONE_WATT, "{v:.3e}"),
    ),
    dark="0.000e+00",
)
WAGTAIL: Final = Personality(
    name="wagtail",
    about="numbers with exponents in watts, amperes and volts",
    arc=524,
    ports=bay("eth{}", ("LLLD", LR)),
    interfaces=Interfaces(first=2),
    tables=(
        Table(
            arc=(6, 2, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(serial(1), *five((2, 3, 4, 5, 6), WAGTAIL_UNITS), constant(7, "1.000e-12")),
        ),
    ),
)

SHRIKE_LABELS: Final = {
    TEMPERATURE: "moduleTemperature",
    SUPPLY: "moduleVcc",
    BIAS: "laserBias",
    TX: "txOutput",
    RX: "rxInput",
}
SHRIKE_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.2f}"),
        (unit.VOLT, "{v:.3f}"),
        (unit.MILLIAMPERE, "{v:.3f}"),
        (unit.ONE_DBM, "{v:.2f}"),
    ),
    dark="-inf",
)
SHRIKE: Final = Personality(
    name="shrike",
    about="a list of readings: port, label, number, unit, each in a column of text",
    arc=525,
    ports=bay("port{}", ("LLD", SX), ("L", LX)),
    tables=(
        Table(
            arc=(4, 8, 1),
            index=Index(kind=IndexKind.RUNNING, kinds=SHRIKE_LABELS),
            columns=(
                name(2),
                kind(3, SHRIKE_LABELS),
                one_row_each(4, SHRIKE_UNITS),
                per_quantity(
                    5, {TEMPERATURE: "Celsius", SUPPLY: "V", BIAS: "mA", TX: "dBm", RX: "dBm"}
                ),
            ),
        ),
    ),
)

TEAL_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:6.1f}\0"),
        (unit.VOLT, "{v:6.2f}\0"),
        (unit.MILLIAMPERE, "{v:6.1f}\0"),
        (unit.ONE_DBM, "{v:6.1f}\0"),
    ),
    dark="LOS\0",
    missing="absent\0",
)
TEAL: Final = Personality(
    name="teal",
    about="padded numbers that end in NUL, LOS for no light, bias and transmit not there",
    arc=526,
    ports=bay("{}", ("C" * 4 + "LLDE", LX)),
    interfaces=Interfaces(names="all the same descr"),
    tables=(
        Table(
            arc=(1, 2),
            index=Index(kind=IndexKind.PANEL),
            rows=Rows.SLOTS,
            columns=(
                word_of_light(1, "up", "down", "down"),
                figure(2, RX, TEAL_UNITS[RX]),
                figure(3, SUPPLY, TEAL_UNITS[SUPPLY]),
                figure(4, TEMPERATURE, TEAL_UNITS[TEMPERATURE]),
                random_walk(5, 43.5, 2, text="{v:6.1f}\0"),
            ),
        ),
    ),
)

WIGEON_UNITS: Final = texts(
    (
        (unit.DECI_DEGREE, "{v:.0f}"),
        (unit.CENTIVOLT, "{v:.0f}"),
        (unit.TEN_MICROAMPERE, "{v:.0f}"),
        (unit.CENTI_DBM, "{v:.0f}"),
    ),
    dark="-10000",
    missing="",
)
WIGEON: Final = Personality(
    name="wigeon",
    about="whole numbers as text in 0.01 dBm, by the name without its length",
    arc=527,
    ports=bay("fx{}", ("LLDE", LX)),
    interfaces=Interfaces(first=15),
    tables=(
        Table(
            arc=(2, 6, 1),
            index=by_name(implied=True),
            rows=Rows.SLOTS,
            columns=(port_number(2), *five((7, 6, 5, 3, 4), WIGEON_UNITS)),
        ),
    ),
)

QUAIL_UNITS: Final = texts(
    (
        (unit.DEGREE, "{v:.0f} °C"),
        (unit.VOLT, "{v:.1f} V"),
        (unit.MILLIAMPERE, "{v:.0f} mA"),
        (unit.ONE_DBM, "{v:.1f} dBm"),
    ),
    dark="no signal",
    missing="no SFP",
)
QUAIL: Final = Personality(
    name="quail",
    about="a group of scalars for each of two modules, SNMPv1 and v2c, no supply",
    arc=528,
    ports=bay("{}", ("C" * 8 + "LL", ZX)),
    interfaces=Interfaces(mau=False, ether_like=False),
    manners=Manners(max_octets=1400, drop_varbinds=24),
    tables=tuple(
        Table(
            arc=(3, module),
            index=Index(kind=IndexKind.SCALAR),
            only=8 + module,
            columns=(
                optic_name(1),
                figure(2, TEMPERATURE, QUAIL_UNITS[TEMPERATURE]),
                figure(3, TX, QUAIL_UNITS[TX]),
                figure(4, RX, QUAIL_UNITS[RX]),
                figure(5, BIAS, QUAIL_UNITS[BIAS]),
            ),
        )
        for module in (1, 2)
    ),
)

IN_WORDS: Final = (WIGEON, RUFF, TEAL, SISKIN, WAGTAIL, TERN, SHRIKE, QUAIL)
