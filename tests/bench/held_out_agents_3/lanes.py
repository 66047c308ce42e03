"""Invented switches whose modules have four lanes."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import of_lane
from tests.bench.held_out_agents_3.background import cabinet, fans, load, settings, traffic
from tests.bench.held_out_agents_3.forms import bounds, whole

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    alarm,
    constant,
    figure,
    optic_name,
    serial,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, port_row, texts
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["GARNET", "GRANITE", "MARBLE", "ONYX"]

ONYX_CELLS: Final = whole(
    (unit.CENTI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM), dark=-4000
)
ONYX: Final = Personality(
    name="onyx",
    about="ifIndex.lane from 1 for laser and light in 0.01 dBm; the module's own in another table",
    arc=731,
    ports=port_row(0, "LLDE", name="fo{}", optic="40GBASE-LR4", lanes=4),
    interfaces=Interfaces(first=49),
    tables=(
        Table(
            arc=(2, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                optic_name(1),
                serial(2),
                constant(3, 4),  # lanes
                figure(4, Quantity.TEMPERATURE, ONYX_CELLS[Quantity.TEMPERATURE]),
                figure(5, Quantity.SUPPLY, ONYX_CELLS[Quantity.SUPPLY]),
            ),
        ),
        Table(
            arc=(2, 5, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=1),
            columns=(
                figure(2, Quantity.BIAS, ONYX_CELLS[Quantity.BIAS]),
                figure(3, Quantity.TX, ONYX_CELLS[Quantity.TX]),
                figure(4, Quantity.RX, ONYX_CELLS[Quantity.RX]),
            ),
        ),
        *fans((2, 9, 1), 3),
    ),
)

GARNET_CELLS: Final = texts(
    (
        (unit.DEGREE, "{v:.1f}"),
        (unit.VOLT, "{v:.3f}"),
        (unit.MILLIAMPERE, "{v:.2f}"),
        (unit.ONE_DBM, "{v:.2f}"),
    ),
    dark="-inf",
)
GARNET: Final = Personality(
    name="garnet",
    about="ifIndex.lane from 0, bare decimals as text, dBm; receive power is the first column",
    arc=733,
    ports=port_row(4, "LLD", name="4x{}", optic="40GBASE-LR4", lanes=4),
    tables=(
        traffic((7, 1, 1), wide=True),
        Table(
            arc=(7, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=0),
            columns=(*five((5, 4, 3, 2, 1), GARNET_CELLS), alarm(6, Quantity.RX)),
        ),
    ),
)

GRANITE_CELLS: Final = whole(
    (unit.DECI_DEGREE, unit.CENTIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM),
    dark=-3000,
    missing=0,
    missing_power=-9999,
)
GRANITE: Final = Personality(
    name="granite",
    about="by ifIndex, a column for each of four lanes, 0.01 dBm, -3000 dark and -9999 empty",
    arc=734,
    ports=port_row(8, "LLDE", name="Q{}", optic="40GBASE-LR4", lanes=4),
    interfaces=Interfaces(first=1, step=10),
    tables=(
        cabinet((1, 1)),
        load((1, 2)),
        Table(
            arc=(1, 12, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                figure(1, Quantity.TEMPERATURE, GRANITE_CELLS[Quantity.TEMPERATURE]),
                figure(2, Quantity.SUPPLY, GRANITE_CELLS[Quantity.SUPPLY]),
                *(
                    of_lane(first + lane, quantity, GRANITE_CELLS[quantity], lane)
                    for first, quantity in (
                        (3, Quantity.TX),
                        (7, Quantity.RX),
                        (11, Quantity.BIAS),
                    )
                    for lane in range(4)
                ),
            ),
        ),
    ),
)

MARBLE_CELLS: Final = whole(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
MARBLE: Final = Personality(
    name="marble",
    about="ifIndex.lane from 1, 0.1 µW, temperature in every lane; thresholds by ifIndex elsewhere",
    arc=737,
    ports=port_row(2, "LLDD", name="quad {}", optic="40GBASE-LR4", lanes=4),
    interfaces=Interfaces(first=301, step=4),
    manners=Manners(stalls_s=15.0),
    tables=(
        settings((3, 1, 1)),
        Table(
            arc=(3, 6, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE, lanes_from=1),
            columns=(wavelength(1), *five((2, 3, 4, 6, 5), MARBLE_CELLS)),
        ),
        Table(
            arc=(3, 7, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                column
                for place, quantity in enumerate(Quantity)
                for column in bounds(1 + 4 * place, quantity, MARBLE_CELLS[quantity])
            ),
        ),
    ),
)
