"""Invented switches that hardly publish optics, publish raw pages, or answer badly."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding
from strandkeeper_demo.personalities.columns import (
    constant,
    counter,
    figure,
    random_walk,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import five, port_row, texts
from strandkeeper_demo.personalities.page_columns import page
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, PageOf, Rows, Table
from strandkeeper_demo.sff_pages import Calibration

__all__ = ["ODD"]

# Slopes of 1.03 and 0.98, as 8.8 fixed point; the received power by a polynomial (SFF-8472 9.3).
EXTERNAL: Final = Calibration(
    rx=(0.0, 0.0, 1.0e-6, 0.21, -2.0), tx_slope=0x0108, bias_slope=0x00FB, temp_offset=-64
)

COMBE: Final = Personality(
    name="combe",
    about="temperature and bias only in its own table; one object there fails; sensors by name",
    arc=115,
    ports=port_row(0, "LLE", name="ten{}", optic="10GBASE-LR"),
    sensors=Sensors(alias=False, names_only=True, limits=True),
    manners=Manners(gen_err=(1, 3, 6, 1, 4, 1, 32473, 115, 2, 1, 9)),
    tables=(
        Table(
            arc=(2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                figure(3, Quantity.TEMPERATURE, Coding(unit=unit.DECI_DEGREE)),
                figure(4, Quantity.BIAS, Coding(unit=unit.MICROAMPERE)),
                constant(9, 7),
            ),
        ),
    ),
)


TOR: Final = Personality(
    name="tor",
    about="walks through its own tables turn back behind the optics",
    arc=116,
    ports=port_row(0, "LDL", name="{}/1", optic="1000BASE-ZX"),
    manners=Manners(
        turns_back=(
            (1, 3, 6, 1, 4, 1, 32473, 116, 9, 1, 1, 3),
            (1, 3, 6, 1, 4, 1, 32473, 116, 9, 1),
        )
    ),
    tables=(
        Table(
            arc=(4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=tuple(
                five(
                    (11, 12, 13, 15, 14),
                    texts(
                        (
                            (unit.DEGREE, "{v:.1f}"),
                            (unit.VOLT, "{v:.2f}"),
                            (unit.MILLIAMPERE, "{v:.1f}"),
                            (unit.ONE_DBM, "{v:.2f}"),
                        ),
                        dark="-inf",
                    ),
                )
            ),
        ),
        Table(
            arc=(9, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(constant(1, 5), constant(2, 6)),
        ),
    ),
)


FEN: Final = Personality(
    name="fen",
    about="copper only: fans, watts, load and counters, and no optics anywhere",
    arc=114,
    ports=port_row(8, "", name="{}"),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                random_walk(1, 3300, 20),
                random_walk(2, 31, 4),
                random_walk(3, 6500, 900),
                random_walk(4, 4800, 80, text="{v:.1f} rpm"),
                counter(5, 400.0),
                counter(6, 9e6, wide=True),
                constant(7, -40),
                constant(8, 1),
            ),
        ),
    ),
)


REEF: Final = Personality(
    name="reef",
    about="the modules' own pages A0h and A2h as octet strings, and nothing decoded",
    arc=117,
    ports=port_row(2, "LLDE", name="R{}"),
    interfaces=Interfaces(first=21),
    tables=(
        Table(
            arc=(3, 7, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(constant(1, 3), page(2, PageOf.A0H), page(3, PageOf.A2H)),
        ),
    ),
)


HOLLOW: Final = Personality(
    name="hollow",
    about="both pages in one octet string, 128 octets each, calibrated outside the module",
    arc=118,
    ports=port_row(0, "LD", name="H{}", optic="1000BASE-SX"),
    tables=(
        Table(
            arc=(1, 1),
            index=Index(kind=IndexKind.PANEL, offset=100),
            columns=(page(5, PageOf.BOTH, octets=128, external=EXTERNAL),),
        ),
    ),
)


ODD: Final = (COMBE, TOR, FEN, REEF, HOLLOW)
