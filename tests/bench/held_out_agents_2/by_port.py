"""Held out, the second time: whole numbers, a row for each port."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import (
    bay,
    bound,
    by_name,
    by_slot,
    epoch,
    over_copper,
    present,
)

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    alarm,
    constant,
    counter,
    figure,
    if_ref,
    random_walk,
    serial,
    uptime,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, integers
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["BY_PORT"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
INT_MIN: Final = -2_147_483_648


LX = "1000BASE-LX10"
LR = "10GBASE-LR"

AVOCET: Final = Personality(
    name="avocet",
    about="the access switch: 24 copper, 4 slots; the inventory first, whole µW",
    arc=501,
    ports=bay("0/{}", ("C" * 24 + "LLDE", LX)),
    tables=(
        Table(
            arc=(1, 1, 43, 1, 6, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                if_ref(1),
                present(2, 1, 2),
                constant(3, "GENERIC CORP    "),
                constant(4, "GP-LX-10        "),
                serial(5),
                constant(6, "230614  "),
                wavelength(7),
                constant(8, 10_000),
                *five(
                    (9, 10, 11, 12, 13),
                    integers(
                        (unit.DEGREE, unit.MILLIVOLT, unit.TEN_MICROAMPERE, unit.ONE_MICROWATT),
                        syntax=Syntax.GAUGE,
                        missing=0,
                    ),
                ),
            ),
        ),
        Table(
            arc=(1, 1, 43, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                over_copper(1, 6300, 900),
                constant(2, 15_400),
                random_walk(3, 52, 2),
                counter(4, 0.01),
            ),
        ),
    ),
)

BITTERN_UNITS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM), dark=-10_000
)
BITTERN: Final = Personality(
    name="bittern",
    about="by the front panel's number, temperature and powers only, read twice a minute",
    arc=502,
    ports=bay("Te{}", ("LLLD", LR)),
    interfaces=Interfaces(first=10_101),
    manners=Manners(stalls_s=30.0),
    tables=(
        Table(
            arc=(10, 2, 1),
            index=Index(kind=IndexKind.PANEL),
            columns=(
                epoch(1),
                figure(2, TX, BITTERN_UNITS[TX]),
                figure(3, RX, BITTERN_UNITS[RX]),
                constant(4, 0),
                figure(5, TEMPERATURE, BITTERN_UNITS[TEMPERATURE]),
                alarm(6, RX),
                alarm(7, TX),
            ),
        ),
    ),
)

CURLEW_UNITS: Final = integers(
    (unit.MILLI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.MILLI_DBM), dark=INT_MIN
)
CURLEW_BOUNDS: Final = {
    TEMPERATURE: (75.0, 70.0, 0.0, -5.0),
    SUPPLY: (3.63, 3.465, 3.135, 2.97),
    BIAS: (65.0, 60.0, 3.0, 2.0),
    TX: (-2.0, -3.0, -9.5, -10.5),
    RX: (-2.0, -3.0, -19.5, -20.5),
}
CURLEW: Final = Personality(
    name="curlew",
    about="slot.port, a table for each quantity with its thresholds before it, 0.001 dBm",
    arc=503,
    ports=bay("g{}", ("C" * 48 + "LLDL", LX)),
    interfaces=Interfaces(first=1, ether_like=False),
    tables=tuple(
        Table(
            arc=(8, 1, 3 + place, 1),
            index=by_slot(0),
            columns=(
                *(
                    bound(3 + n, quantity, value, CURLEW_UNITS[quantity])
                    for n, value in enumerate(CURLEW_BOUNDS[quantity])
                ),
                figure(7, quantity, CURLEW_UNITS[quantity]),
                constant(8, 2),
            ),
        )
        for place, quantity in enumerate((SUPPLY, TEMPERATURE, BIAS, RX, TX))
    ),
)

EIDER: Final = Personality(
    name="eider",
    about="by the name of the interface as a string index, nW and millionths",
    arc=505,
    ports=bay("uplink-{}", ("LLD", LR)),
    interfaces=Interfaces(first=41),
    manners=Manners(max_octets=900, max_varbinds=20),
    tables=(
        Table(
            arc=(2, 12, 1),
            index=by_name(),
            columns=(
                constant(1, 1),
                *five(
                    (4, 5, 3, 2, 6),
                    integers(
                        (unit.MILLI_DEGREE, unit.MICROVOLT, unit.MICROAMPERE, unit.NANOWATT),
                        syntax=Syntax.GAUGE,
                    ),
                ),
                uptime(7),
            ),
        ),
    ),
)

BY_PORT: Final = (AVOCET, CURLEW, BITTERN, EIDER)
