"""Held out: whole numbers in ordinary tables."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding
from strandkeeper_demo.personalities.columns import (
    Limit,
    alarm,
    constant,
    counter,
    entity_ref,
    figure,
    held,
    if_ref,
    limit,
    optic_name,
    port_number,
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

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity

BACKWARDS: Final = integers(
    (unit.DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.TENTH_MICROWATT), syntax=Syntax.GAUGE
)
PARTED: Final = integers(
    (unit.DEGREE_256, unit.CENTIVOLT, unit.TWO_MICROAMPERE, unit.CENTI_DBM), dark=-2_147_483_648
)
FINE: Final = integers(
    (unit.MILLI_DEGREE, unit.MICROVOLT, unit.MICROAMPERE, unit.MILLI_DBM), dark=-40_000
)
STORED: Final = integers(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
HUNDREDTHS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TENTH_MILLIAMPERE, unit.CENTI_DBM), dark=-4000
)
ZEROS: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.DECI_DBM), dark=-400, missing=0
)
MICRO: Final = integers(
    (unit.CENTI_DEGREE, unit.MILLIVOLT, unit.TEN_MICROAMPERE, unit.ONE_MICROWATT)
)

ALDER: Final = Personality(
    name="alder",
    about="the columns backwards: receive power first, in 0.1 µW",
    arc=301,
    ports=port_row(4, "LLDE", name="Gi0/{}"),
    interfaces=Interfaces(first=10),
    tables=(
        Table(
            arc=(5, 1, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                *five((7, 6, 5, 4, 3), BACKWARDS),
                constant(8, 1),
                counter(9, 3.0),
                random_walk(10, 3300, 200),
            ),
        ),
    ),
)

BIRCH: Final = Personality(
    name="birch",
    about="powers, the other figures, and thresholds in three tables of one index",
    arc=302,
    ports=port_row(0, "LLDE", name="{}"),
    interfaces=Interfaces(first=1),
    tables=(
        Table(
            arc=(1, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(figure(1, TX, PARTED[TX]), figure(2, RX, PARTED[RX])),
        ),
        Table(
            arc=(1, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                figure(1, BIAS, PARTED[BIAS]),
                figure(2, SUPPLY, PARTED[SUPPLY]),
                figure(3, TEMPERATURE, PARTED[TEMPERATURE]),
            ),
        ),
        Table(
            arc=(1, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                limit(1 + which.value + 4 * place, quantity, which, PARTED[quantity])
                for place, quantity in enumerate((TX, RX, BIAS))
                for which in Limit
            ),
        ),
    ),
)

ELDER: Final = Personality(
    name="elder",
    about="unit.port, thousandths and millionths, one lit port and no dark one",
    arc=305,
    ports=port_row(24, "LE", name="1/{}"),
    interfaces=Interfaces(first=1001, ether_like=False),
    tables=(
        Table(
            arc=(1, 1, 8, 1),
            index=Index(kind=IndexKind.UNIT_PORT),
            columns=tuple(five((4, 2, 3, 5, 6), FINE)),
        ),
        Table(
            arc=(3, 1),
            index=Index(kind=IndexKind.UNIT_PORT),
            rows=Rows.ALL,
            columns=(random_walk(1, 7400, 800), random_walk(2, 54_000, 600), constant(3, 30_000)),
        ),
    ),
)

FIR: Final = Personality(
    name="fir",
    about="ifIndex.lane from 0, as the module stores them",
    arc=306,
    ports=port_row(0, "LLDE", name="hu{}", optic="40GBASE-LR4", lanes=4),
    tables=(
        Table(
            arc=(2, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=0),
            columns=(
                *five((1, 2, 3, 4, 5), STORED),
                alarm(6, RX),
                alarm(7, TX),
                constant(8, 0),
            ),
        ),
    ),
)

LARCH: Final = Personality(
    name="larch",
    about="the day's lowest, highest and mean beside each power, and alarms between",
    arc=312,
    ports=port_row(2, "LLDL", name="te{}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=200, step=10),
    tables=(
        Table(
            arc=(7, 7, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                if_ref(1),
                alarm(2, RX),
                held(3, RX, HUNDREDTHS[RX], off=-1.0),
                figure(4, RX, HUNDREDTHS[RX]),
                held(5, RX, HUNDREDTHS[RX], off=1.0),
                held(6, RX, HUNDREDTHS[RX], off=0.0),
                alarm(7, TX),
                held(8, TX, HUNDREDTHS[TX], off=-1.0),
                figure(9, TX, HUNDREDTHS[TX]),
                held(10, TX, HUNDREDTHS[TX], off=1.0),
                figure(11, TEMPERATURE, HUNDREDTHS[TEMPERATURE]),
                figure(12, BIAS, HUNDREDTHS[BIAS]),
                figure(13, SUPPLY, HUNDREDTHS[SUPPLY]),
            ),
        ),
    ),
)

KELP: Final = Personality(
    name="kelp",
    about="rows for every slot, nought for what is missing, whole degrees, 0.1 dBm",
    arc=311,
    ports=port_row(2, "LDEENL", name="P{}"),
    interfaces=Interfaces(first=65, names="descr only"),
    tables=(
        Table(
            arc=(4, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(port_number(1), optic_name(2), *five((3, 4, 5, 6, 7), ZEROS)),
        ),
    ),
)

NETTLE: Final = Personality(
    name="nettle",
    about="by entPhysicalIndex in µW, the same in the standard sensors, entity beside ifIndex",
    arc=314,
    ports=port_row(0, "LLD", name="Te1/{}", optic="10GBASE-LR"),
    interfaces=Interfaces(first=26),
    sensors=Sensors(limits=True),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.ENTITY),
            columns=(entity_ref(1), if_ref(2), *five((14, 13, 12, 11, 10), MICRO)),
        ),
    ),
)

ROWAN: Final = Personality(
    name="rowan",
    about="each figure in the middle of its thresholds, 0.01 dBm",
    arc=318,
    ports=port_row(2, "LLD", name="s{}", optic="1000BASE-SX"),
    interfaces=Interfaces(first=3, mau=False),
    tables=(
        Table(
            arc=(12, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate((RX, TX, BIAS, TEMPERATURE, SUPPLY))
                for column in (
                    limit(1 + 5 * place, quantity, Limit.HIGH_ALARM, HUNDREDTHS[quantity]),
                    limit(2 + 5 * place, quantity, Limit.HIGH_WARNING, HUNDREDTHS[quantity]),
                    figure(3 + 5 * place, quantity, HUNDREDTHS[quantity]),
                    limit(4 + 5 * place, quantity, Limit.LOW_WARNING, HUNDREDTHS[quantity]),
                    limit(5 + 5 * place, quantity, Limit.LOW_ALARM, HUNDREDTHS[quantity]),
                )
            ),
        ),
    ),
)

CLOVER: Final = Personality(
    name="clover",
    about="many ports, long reach, serial and wavelength between the figures",
    arc=326,
    ports=port_row(0, "LLLLDDEE", name="z{}", optic="1000BASE-ZX"),
    interfaces=Interfaces(first=4097),
    tables=(
        Table(
            arc=(20, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                serial(1),
                figure(2, RX, Coding(unit=unit.CENTI_DBM, dark=-4500)),
                wavelength(3),
                figure(4, TX, Coding(unit=unit.CENTI_DBM, dark=-4500)),
                uptime(5),
                figure(6, BIAS, Coding(unit=unit.MICROAMPERE)),
                figure(7, SUPPLY, Coding(unit=unit.MILLIVOLT)),
                figure(8, TEMPERATURE, Coding(unit=unit.DECI_DEGREE)),
            ),
        ),
    ),
)

TEASEL: Final = Personality(
    name="teasel",
    about="small answers, a hardware read once a minute, a walk that turns back; as stored",
    arc=320,
    ports=port_row(0, "LLLD", name="y{}", optic="1000BASE-ZX"),
    interfaces=Interfaces(first=11, wide_counters=False),
    manners=Manners(
        max_octets=600,
        drop_octets=1400,
        drop_varbinds=12,
        stalls_s=60.0,
        turns_back=((1, 3, 6, 1, 4, 1, 32473, 320, 6, 1, 2, 13), (1, 3, 6, 1, 4, 1, 32473, 320)),
    ),
    tables=(
        Table(
            arc=(3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate(Quantity)
                for column in with_limits(1 + 6 * place, quantity, STORED[quantity])
            ),
        ),
        Table(
            arc=(6, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(constant(1, 100), constant(2, 4)),
        ),
    ),
)

LANES: Final = (FIR,)
NUMBERS: Final = (
    *(ALDER, BIRCH, ELDER, KELP, LARCH, ROWAN),
    *(CLOVER, TEASEL, NETTLE),
)
