"""Held out, the second time: modules of several lanes."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import (
    EachLane,
    Own,
    bay,
    lane_number,
    of_lane,
    word_of_light,
)

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.columns import (
    constant,
    figure,
    if_ref,
    optic_name,
    port_number,
    random_walk,
    serial,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import integers
from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Index, IndexKind, Table

__all__ = ["LANES"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
LR4, SR = "40GBASE-LR4", "10GBASE-SR"

BUNTING_UNITS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.TEN_MICROAMPERE, unit.CENTI_DBM), dark=-4000
)
BUNTING: Final = Personality(
    name="bunting",
    about="a row for each module, a column for each lane",
    arc=541,
    ports=bay("fo{}", ("LLDE", LR4, 4)),
    interfaces=Interfaces(first=129, step=4),
    tables=(
        Table(
            arc=(2, 3, 1),
            index=Index(kind=IndexKind.IF_INDEX),
            columns=(
                optic_name(1),
                figure(2, TEMPERATURE, BUNTING_UNITS[TEMPERATURE]),
                figure(3, SUPPLY, BUNTING_UNITS[SUPPLY]),
                *(of_lane(4 + n, RX, BUNTING_UNITS[RX], n) for n in range(4)),
                *(of_lane(8 + n, BIAS, BUNTING_UNITS[BIAS], n) for n in range(4)),
                *(of_lane(12 + n, TX, BUNTING_UNITS[TX], n) for n in range(4)),
                constant(16, 4),
            ),
        ),
    ),
)

CRAKE_UNITS: Final = integers(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
CRAKE: Final = Personality(
    name="crake",
    about="ifIndex.lane, the whole module in the row of lane 0",
    arc=542,
    ports=bay("ce{}", ("LLD", LR4, 4)),
    interfaces=Interfaces(first=1000),
    tables=(
        Table(
            arc=(1, 7, 2, 1),
            index=Own(kind=IndexKind.IF_INDEX, arcs=lambda row: (row.if_index, 0)),
            columns=(
                figure(3, TEMPERATURE, CRAKE_UNITS[TEMPERATURE]),
                figure(4, SUPPLY, CRAKE_UNITS[SUPPLY]),
            ),
        ),
        Table(
            arc=(1, 7, 2, 1),
            index=Index(kind=IndexKind.IF_INDEX_LANE),
            columns=(
                figure(5, BIAS, CRAKE_UNITS[BIAS]),
                figure(6, TX, CRAKE_UNITS[TX]),
                figure(7, RX, CRAKE_UNITS[RX]),
            ),
        ),
    ),
)

LINNET_UNITS: Final = integers(
    (unit.CENTI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM),
    dark=-4000,
)
LINNET: Final = Personality(
    name="linnet",
    about="slot.port.lane from 0, modules of one lane and of four in one table",
    arc=543,
    ports=bay("1/{}", ("LLD", SR), ("LLE", LR4, 4)),
    interfaces=Interfaces(first=11, step=10),
    tables=(
        Table(
            arc=(4, 1, 1, 1),
            index=Own(kind=IndexKind.UNIT_PORT, arcs=lambda row: (1, row.port.plan.number)),
            columns=(
                serial(3),
                figure(4, TEMPERATURE, LINNET_UNITS[TEMPERATURE]),
                figure(5, SUPPLY, LINNET_UNITS[SUPPLY]),
            ),
        ),
        EachLane(
            arc=(4, 1, 2, 1),
            index=Own(
                kind=IndexKind.UNIT_PORT, arcs=lambda row: (1, row.port.plan.number, row.lane)
            ),
            columns=(
                figure(4, RX, LINNET_UNITS[RX]),
                figure(5, TX, LINNET_UNITS[TX]),
                figure(6, BIAS, LINNET_UNITS[BIAS]),
                word_of_light(7, "signal", "no signal", "none"),
            ),
        ),
    ),
)

PIPIT_UNITS: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.MICROAMPERE, unit.ONE_MICROWATT), syntax=Syntax.GAUGE
)
PIPIT: Final = Personality(
    name="pipit",
    about="a list of channels: port and channel in columns, µW, the module's figures in each row",
    arc=544,
    ports=bay("et{}", ("LL", SR), ("LD", LR4, 4)),
    interfaces=Interfaces(first=61),
    tables=(
        EachLane(
            arc=(8, 2, 1),
            index=Index(kind=IndexKind.RUNNING),
            columns=(
                port_number(2),
                lane_number(3),
                if_ref(4),
                figure(5, TX, PIPIT_UNITS[TX]),
                figure(6, RX, PIPIT_UNITS[RX]),
                figure(7, BIAS, PIPIT_UNITS[BIAS]),
                figure(8, TEMPERATURE, PIPIT_UNITS[TEMPERATURE]),
                random_walk(9, 240, 30),
            ),
        ),
    ),
)

# With whom each is joined: as many lanes on either side.
LANES: Final = (LINNET, PIPIT, BUNTING, CRAKE)
