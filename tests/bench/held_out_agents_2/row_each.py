"""Held out, the second time: a row for each sensor."""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.forms import (
    EachLane,
    Extra,
    Own,
    bay,
    once,
    per_quantity,
    port_kind,
)

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding
from strandkeeper_demo.personalities.columns import (
    Limit,
    constant,
    entity_ref,
    if_ref,
    kind,
    limit,
    name,
    one_row_each,
    random_walk,
    uptime,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import integers
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Column, Index, IndexKind, Table

__all__ = ["ROW_EACH", "ROW_EACH_LANES"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
LX, ZX = "1000BASE-LX10", "1000BASE-ZX"
LR, LR4 = "10GBASE-LR", "40GBASE-LR4"

# Types: 1 volts, 2 degrees, 3 rotations, as the board has them too.
NIGHTJAR_KINDS: Final = {TEMPERATURE: 2, SUPPLY: 1, BIAS: 5, TX: 6, RX: 7}
NIGHTJAR_UNITS: Final = integers(
    (unit.DECI_DEGREE, unit.MILLIVOLT, unit.MICROAMPERE, unit.CENTI_DBM), dark=-4000
)


def _board(
    label: str, type_number: int, digits: int, word: str, value: Column
) -> tuple[Column, ...]:
    return (
        constant(2, label),
        constant(3, type_number),
        constant(4, digits),
        value,
        constant(6, word),
        constant(7, 1),
    )


NIGHTJAR: Final = Personality(
    name="nightjar",
    about="one list of all sensors of the box, the board's first, with type, digits and unit",
    arc=531,
    ports=bay("swp{}", ("C" * 4 + "LLDL", LR)),
    interfaces=Interfaces(first=3),
    tables=(
        Extra(
            arc=(1, 5, 1),
            index=Index(kind=IndexKind.RUNNING),
            columns=(),
            lines=(
                ((1,), _board("Board inlet", 2, 1, "C", random_walk(5, 318, 9))),
                ((2,), _board("Board outlet", 2, 1, "C", random_walk(5, 402, 9))),
                ((3,), _board("Rail 3.3V", 1, 3, "V", random_walk(5, 3307, 9))),
                ((4,), _board("Rail 5V", 1, 3, "V", random_walk(5, 5032, 14))),
                ((5,), _board("Fan 1", 3, 0, "rpm", random_walk(5, 6900, 250))),
                ((6,), _board("Fan 2", 3, 0, "rpm", random_walk(5, 6840, 250))),
            ),
        ),
        Table(
            arc=(1, 5, 1),
            index=Index(kind=IndexKind.RUNNING, offset=6, kinds=NIGHTJAR_KINDS),
            columns=(
                name(2, "Transceiver {}"),
                kind(3, NIGHTJAR_KINDS),
                per_quantity(4, {TEMPERATURE: 1, SUPPLY: 3, BIAS: 3, TX: 2, RX: 2}),
                one_row_each(5, NIGHTJAR_UNITS),
                per_quantity(6, {TEMPERATURE: "C", SUPPLY: "V", BIAS: "mA", TX: "dBm", RX: "dBm"}),
                constant(7, 1),
            ),
        ),
    ),
)

REDSHANK_KINDS: Final = {TEMPERATURE: 1, SUPPLY: 2, BIAS: 3, TX: 4, RX: 5}
REDSHANK_UNITS: Final = integers(
    (unit.DEGREE_256, unit.HUNDRED_MICROVOLT, unit.TWO_MICROAMPERE, unit.TENTH_MICROWATT)
)
REDSHANK: Final = Personality(
    name="redshank",
    about="port.kind, thresholds before the figure, as stored",
    arc=532,
    ports=bay("1/0/{}", ("C" * 24 + "LDLL", LX)),
    interfaces=Interfaces(first=1),
    tables=(
        Table(
            arc=(15, 3, 1),
            index=port_kind(REDSHANK_KINDS),
            columns=(
                limit(3, None, Limit.HIGH_ALARM, REDSHANK_UNITS),
                limit(4, None, Limit.HIGH_WARNING, REDSHANK_UNITS),
                limit(5, None, Limit.LOW_WARNING, REDSHANK_UNITS),
                limit(6, None, Limit.LOW_ALARM, REDSHANK_UNITS),
                one_row_each(7, REDSHANK_UNITS),
                constant(8, 1),
            ),
        ),
    ),
)

WHIMBREL_KINDS: Final = {TX: "Tx Power", RX: "Rx Power", TEMPERATURE: "Temp"}
WHIMBREL_UNITS: Final = {
    TX: Coding(unit=unit.ONE_DBM, text="{v:.2f}dBm", dark="-40.00dBm"),
    RX: Coding(unit=unit.ONE_DBM, text="{v:.2f}dBm", dark="-40.00dBm"),
    TEMPERATURE: Coding(unit=unit.DEGREE, text="{v:.1f}C"),
}
WHIMBREL: Final = Personality(
    name="whimbrel",
    about="its own row numbers far up, the module's entity and a word, three quantities in text",
    arc=533,
    ports=bay("wh{}", ("LLD", ZX)),
    interfaces=Interfaces(first=21),
    tables=(
        Table(
            arc=(9, 9, 2, 1),
            index=Index(kind=IndexKind.RUNNING, offset=3_000_000, kinds=WHIMBREL_KINDS),
            columns=(
                if_ref(2),
                entity_ref(3),
                kind(4, WHIMBREL_KINDS),
                one_row_each(5, WHIMBREL_UNITS),
                uptime(6),
            ),
        ),
    ),
    manners=Manners(stalls_s=30.0),
)

SNIPE_KINDS: Final = {RX: 11, TX: 12, BIAS: 13, TEMPERATURE: 14, SUPPLY: 15}
SNIPE_UNITS: Final = integers(
    (unit.DEGREE, unit.CENTIVOLT, unit.TENTH_MILLIAMPERE, unit.MILLI_DBM), dark=-2_147_483_648
)
SNIPE: Final = Personality(
    name="snipe",
    about="ifIndex, kind, lane; the whole module's under lane 1",
    arc=534,
    ports=bay("q{}", ("LLE", LR4, 4)),
    interfaces=Interfaces(first=301, step=4),
    tables=(
        EachLane(
            arc=(1, 6, 1),
            index=Own(
                kind=IndexKind.IF_INDEX_KIND,
                kinds=SNIPE_KINDS,
                arcs=lambda row: (
                    row.if_index,
                    SNIPE_KINDS[row.quantity] if row.quantity else 0,
                    row.lane + 1,
                ),
            ),
            columns=(once(one_row_each(4, SNIPE_UNITS)), once(constant(5, 1))),
        ),
    ),
)

ROW_EACH_LANES: Final = (SNIPE,)
ROW_EACH: Final = (WHIMBREL, NIGHTJAR, REDSHANK)
