"""Held out, the second time: what publishes no receive power in tables of its own."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import bay, bound, epoch, over_copper, present

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding
from strandkeeper_demo.personalities.columns import (
    constant,
    counter,
    figure,
    optic_name,
    random_walk,
    serial,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.sensors import MEASURES, OTHER, UNITS, Measure, Sensors
from strandkeeper_demo.personalities.table import Index, IndexKind, Rows, Table

__all__ = ["WITHOUT", "WITHOUT_BUT_JOINED"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
LX, LR4 = "1000BASE-LX10", "40GBASE-LR4"

GODWIT: Final = Personality(
    name="godwit",
    about="24 copper ports with power over the cable; rails, fans, degrees, no optics",
    arc=551,
    ports=bay("lan{}", ("C" * 24, LX)),
    tables=(
        Table(
            arc=(3, 1, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                constant(1, 1),
                over_copper(2, 7100, 1500),
                random_walk(3, 5360, 40),
                random_walk(4, 132, 25),
                constant(5, 30_000),
                counter(6, 0.004),
            ),
        ),
        Table(
            arc=(3, 2),
            index=Index(kind=IndexKind.SCALAR),
            rows=Rows.ALL,
            only=1,
            columns=(
                random_walk(1, 46, 2, syntax=Syntax.INTEGER),
                random_walk(2, 3298, 7),
                random_walk(3, 5010, 12),
                random_walk(4, 8100, 300),
                epoch(5, grain_s=1),
            ),
        ),
    ),
)

PETREL: Final = Personality(
    name="petrel",
    about="the sending side alone, thresholds of the receiving side without its figure",
    arc=552,
    ports=bay("gx{}", ("C" * 2 + "LLD", LX)),
    interfaces=Interfaces(first=4),
    tables=(
        Table(
            arc=(1, 1, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                figure(1, TX, Coding(unit=unit.TENTH_MICROWATT)),
                figure(2, BIAS, Coding(unit=unit.TWO_MICROAMPERE)),
                figure(3, TEMPERATURE, Coding(unit=unit.DEGREE_256)),
                figure(4, SUPPLY, Coding(unit=unit.HUNDRED_MICROVOLT)),
                bound(5, RX, -3.0, Coding(unit=unit.TENTH_MICROWATT)),
                bound(6, RX, -20.0, Coding(unit=unit.TENTH_MICROWATT)),
                bound(7, TX, -3.0, Coding(unit=unit.TENTH_MICROWATT)),
                bound(8, TX, -9.5, Coding(unit=unit.TENTH_MICROWATT)),
            ),
        ),
    ),
)

_DBM: Final = Measure(
    kind=OTHER,
    scale=UNITS,
    precision=2,
    units="dBm",
    coding=Coding(unit=unit.CENTI_DBM, dark=-4000),
)
STILT: Final = Personality(
    name="stilt",
    about="optics in the standard sensors alone, in dBm, four lanes; own tables of other things",
    arc=553,
    ports=bay("hg{}", ("LLE", LR4, 4)),
    interfaces=Interfaces(first=5),
    sensors=Sensors(measures={**MEASURES, TX: _DBM, RX: _DBM}),
    tables=(
        Table(
            arc=(2, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.ALL,
            columns=(
                random_walk(1, 410, 12),
                counter(2, 5.0e5, wide=True),
                random_walk(3, 5100, 1400),
                constant(4, 9216),
            ),
        ),
    ),
)

TURNSTONE: Final = Personality(
    name="turnstone",
    about="knows its modules by name, serial and wavelength, and measures nothing of them",
    arc=554,
    ports=bay("0.{}", ("C" * 8 + "NNE", LX)),
    interfaces=Interfaces(first=1),
    tables=(
        Table(
            arc=(4, 4, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            rows=Rows.SLOTS,
            columns=(
                present(1, 1, 2),
                optic_name(2),
                serial(3),
                wavelength(4),
                constant(5, 10),
                constant(6, 0),
            ),
        ),
        Table(
            arc=(4, 9),
            index=Index(kind=IndexKind.SCALAR),
            rows=Rows.ALL,
            only=1,
            columns=(random_walk(1, 395, 10), random_walk(2, 3321, 9), constant(3, -1200)),
        ),
    ),
)

WITHOUT_BUT_JOINED: Final = (STILT,)
WITHOUT: Final = (GODWIT, TURNSTONE, PETREL)
