"""Held out, the second time: whole numbers, a row for each port, with more about it."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import (
    bay,
    bound,
    by_chassis,
    chosen,
    margin,
    over_copper,
    warmer,
    word_of_light,
)

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.columns import (
    alarm,
    constant,
    counter,
    figure,
    held,
    if_ref,
    name,
    optic_name,
    port_number,
    random_walk,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, integers
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Fill, Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["MORE_BY_PORT"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity

TEN_MICROWATT: Final = Unit(0.01, "mW")
DECIVOLT: Final = Unit(0.1, "V")

LX, SX, ZX = "1000BASE-LX10", "1000BASE-SX", "1000BASE-ZX"
SR, LR, FAST = "10GBASE-SR", "10GBASE-LR", "100BASE-LX10"

DIPPER: Final = Personality(
    name="dipper",
    about="chassis.slot.port, all of it coarse: tenths of a volt, whole mA, 0.1 dBm",
    arc=504,
    ports=bay("Eth1/2/{}", ("LLDE", ZX), ("LN", LX)),
    interfaces=Interfaces(first=69_206_016 + 64, step=64),
    tables=(
        Table(
            arc=(3, 1, 2, 1, 1),
            index=by_chassis(1, 2),
            rows=Rows.SLOTS,
            columns=(
                optic_name(2),
                figure(5, TEMPERATURE, Coding(unit=unit.DEGREE, missing=0)),
                figure(4, BIAS, Coding(unit=unit.MILLIAMPERE, missing=0)),
                figure(6, SUPPLY, Coding(unit=DECIVOLT, missing=0)),
                figure(8, TX, Coding(unit=unit.DECI_DBM, dark=-600, missing=-600)),
                figure(7, RX, Coding(unit=unit.DECI_DBM, dark=-600, missing=-600)),
                constant(9, 3),
            ),
        ),
        Table(
            arc=(3, 2, 1),
            index=Index(kind=IndexKind.SCALAR),
            rows=Rows.ALL,
            only=1,
            columns=(random_walk(1, 4200, 300), random_walk(2, 36, 2), constant(3, 2)),
        ),
    ),
)

FULMAR: Final = Personality(
    name="fulmar",
    about="as stored, 65535 in all rows without a measuring module, watts of copper between",
    arc=506,
    ports=bay("P{}", ("C" * 8 + "LLNE", LX)),
    interfaces=Interfaces(first=49, names="descr only"),
    tables=(
        Table(
            arc=(6, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                over_copper(1, 4800, 400),
                chosen(2, {Fill.COPPER: 1, Fill.LIT: 3, Fill.NO_DDM: 2, Fill.EMPTY: 0}),
                *five(
                    (3, 6, 4, 5, 7),
                    integers(
                        (
                            unit.DEGREE_256,
                            unit.HUNDRED_MICROVOLT,
                            unit.TWO_MICROAMPERE,
                            unit.TENTH_MICROWATT,
                        ),
                        syntax=Syntax.GAUGE,
                        missing=65_535,
                    ),
                ),
                random_walk(8, 33_010, 60),
                random_walk(9, 11_776, 400),
            ),
        ),
    ),
)

GANNET: Final = Personality(
    name="gannet",
    about="receive power and temperature among error counters, no transmit side at all",
    arc=507,
    ports=bay("te{}", ("LLLDE", SR)),
    interfaces=Interfaces(first=16_777_217, step=256),
    tables=(
        Table(
            arc=(1, 9, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                counter(1, 0.002),
                counter(2, 8.1e4, wide=True),
                figure(3, RX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
                counter(4, 0.2),
                random_walk(5, 12, 8),
                figure(6, TEMPERATURE, Coding(unit=unit.CENTI_DEGREE)),
                alarm(7, RX),
            ),
        ),
    ),
)

GREBE_UNITS: Final = integers(
    (unit.CENTI_DEGREE, unit.HUNDRED_MICROVOLT, unit.TENTH_MILLIAMPERE, unit.MILLI_DBM),
    dark=-50_000,
)
GREBE: Final = Personality(
    name="grebe",
    about="an older table that only says nought, a newer one behind it, 0.001 dBm",
    arc=508,
    ports=bay("Gi1/0/{}", ("C" * 4 + "LDL", SX), ("L", LX)),
    interfaces=Interfaces(first=9),
    tables=(
        Table(
            arc=(4, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=tuple(constant(n, 0) for n in range(1, 7)),
        ),
        Table(
            arc=(4, 6, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                name(2),
                *five((3, 4, 5, 7, 8), GREBE_UNITS),
                constant(6, 1),
                bound(9, RX, -18.0, GREBE_UNITS[RX]),
                bound(10, RX, 0.0, GREBE_UNITS[RX]),
            ),
        ),
    ),
)

HERON_UNITS: Final = integers(
    (unit.DECI_DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, TEN_MICROWATT)
)
HERON_BOUNDS: Final = {
    RX: (2.0, 1.0, -14.0, -15.5),
    TX: (2.5, 1.5, -7.0, -8.5),
    BIAS: (80.0, 75.0, 10.0, 5.0),
    SUPPLY: (3.6, 3.5, 3.1, 3.0),
    TEMPERATURE: (78.0, 73.0, -8.0, -13.0),
}
HERON: Final = Personality(
    name="heron",
    about="hundredths of mW, each figure followed by thresholds and a flag, receive power first",
    arc=509,
    ports=bay("Port-{}", ("LLLD", LR)),
    interfaces=Interfaces(first=3, step=2),
    tables=(
        Table(
            arc=(11, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, (quantity, bounds) in enumerate(HERON_BOUNDS.items())
                for column in (
                    figure(2 + 6 * place, quantity, HERON_UNITS[quantity]),
                    *(
                        bound(3 + 6 * place + n, quantity, value, HERON_UNITS[quantity])
                        for n, value in enumerate(bounds)
                    ),
                    constant(7 + 6 * place, 0),
                )
            ),
        ),
    ),
)

DUNLIN_UNITS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TENTH_MILLIAMPERE, unit.DECI_DBM), dark=-500
)
DUNLIN: Final = Personality(
    name="dunlin",
    about="transport gear: status, now, the interval's low and high, 0.1 dBm, powers apart",
    arc=510,
    ports=bay("1-{}", ("LLLD", ZX)),
    interfaces=Interfaces(first=5001, mau=False, lldp=True),
    tables=(
        Table(
            arc=(2, 1, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                alarm(1, RX),
                figure(2, RX, DUNLIN_UNITS[RX]),
                held(3, RX, DUNLIN_UNITS[RX], off=-1.0),
                held(4, RX, DUNLIN_UNITS[RX], off=1.0),
                constant(5, -280),
                constant(6, -70),
            ),
        ),
        Table(
            arc=(2, 2, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                alarm(1, TX),
                figure(2, TX, DUNLIN_UNITS[TX]),
                held(3, TX, DUNLIN_UNITS[TX], off=-1.0),
                held(4, TX, DUNLIN_UNITS[TX], off=1.0),
                figure(5, BIAS, DUNLIN_UNITS[BIAS]),
                warmer(6, 2.4, unit.DECI_DEGREE),
            ),
        ),
    ),
)

KNOT: Final = Personality(
    name="knot",
    about="by entPhysicalIndex, the laser's temperature beside the module's; sensors by name",
    arc=511,
    ports=bay("xg{}", ("LLDL", SR)),
    interfaces=Interfaces(first=101),
    sensors=Sensors(names_only=True, alias=False, limits=True),
    tables=(
        Table(
            arc=(7, 1, 4, 1),
            index=Index(kind=IndexKind.ENTITY),
            columns=(
                if_ref(1),
                figure(2, TEMPERATURE, Coding(unit=unit.CENTI_DEGREE)),
                warmer(3, 5.1, unit.CENTI_DEGREE),
                figure(4, BIAS, Coding(unit=unit.TWO_MICROAMPERE)),
                figure(5, RX, Coding(unit=unit.MILLI_DBM, dark=-40_000)),
                figure(6, TX, Coding(unit=unit.MILLI_DBM, dark=-40_000)),
                figure(7, SUPPLY, Coding(unit=unit.HUNDRED_MICROVOLT)),
            ),
        ),
    ),
)

LAPWING: Final = Personality(
    name="lapwing",
    about="ports counted from nought, the margin of each beside its receive power, once a minute",
    arc=512,
    ports=bay("{}", ("LLDLE", LX)),
    interfaces=Interfaces(first=1, wide_counters=False),
    manners=Manners(stalls_s=60.0, drop_varbinds=16),
    tables=(
        Table(
            arc=(13, 2, 1),
            index=Index(kind=IndexKind.PANEL, offset=-1),
            columns=(
                port_number(1),
                wavelength(2),
                margin(3, -24.0, unit.CENTI_DBM),
                figure(4, RX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
                figure(5, TX, Coding(unit=unit.CENTI_DBM, dark=-4000)),
                figure(6, BIAS, Coding(unit=unit.TEN_MICROAMPERE)),
                figure(7, TEMPERATURE, Coding(unit=unit.DEGREE)),
                constant(8, 2400),
            ),
        ),
    ),
)

PLOVER: Final = Personality(
    name="plover",
    about="rows of its own numbering with the interface's description, µW, no temperature",
    arc=513,
    ports=bay("s{}", ("C" * 2 + "LLD", SX)),
    interfaces=Interfaces(first=33),
    tables=(
        Table(
            arc=(5, 4, 1),
            index=Index(kind=IndexKind.RUNNING, offset=6),
            columns=(
                name(1, "Port {}"),
                figure(2, SUPPLY, Coding(unit=unit.MILLIVOLT)),
                figure(3, BIAS, Coding(unit=unit.MICROAMPERE, syntax=Syntax.GAUGE)),
                figure(4, TX, Coding(unit=unit.ONE_MICROWATT, syntax=Syntax.GAUGE)),
                figure(5, RX, Coding(unit=unit.ONE_MICROWATT, syntax=Syntax.GAUGE)),
                word_of_light(6, "normal", "loss of signal", "absent"),
            ),
        ),
        Table(
            arc=(5, 1),
            index=Index(kind=IndexKind.SCALAR),
            rows=Rows.ALL,
            only=1,
            columns=(
                random_walk(1, 3310, 8),
                random_walk(2, 5020, 15),
                random_walk(3, 38, 2),
                random_walk(4, 7200, 350),
            ),
        ),
    ),
)

SMEW: Final = Personality(
    name="smew",
    about="the industrial switch: two fibre ports first, SNMPv1 only, receive and transmit in nW",
    arc=514,
    ports=bay("X{}", ("LL", FAST), ("C" * 6, FAST)),
    interfaces=Interfaces(wide_counters=False, mau=False),
    manners=Manners(versions=(0,), max_octets=484),
    tables=(
        Table(
            arc=(2, 1, 9, 1),
            index=Index(kind=IndexKind.PANEL),
            rows=Rows.ALL,
            columns=(
                chosen(1, {Fill.COPPER: 1, Fill.LIT: 2}),
                figure(2, RX, Coding(unit=unit.NANOWATT, missing=0)),
                figure(3, TX, Coding(unit=unit.NANOWATT, missing=0)),
                random_walk(4, 44, 2, syntax=Syntax.INTEGER),
                constant(5, 100),
            ),
        ),
    ),
)

MORE_BY_PORT: Final = (
    *(GANNET, KNOT, HERON, FULMAR, DUNLIN),
    *(DIPPER, LAPWING, GREBE, SMEW, PLOVER),
)
