"""A table of a switch's own MIB, as a person described it: which object is what, in which unit.

Nothing is known of any maker: an owner (or the proposal of a survey) names columns by OID alone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import Final

from strandkeeper.model.oid import Oid
from strandkeeper.model.reading import Quantity
from strandkeeper.optics.units import Dbm

__all__ = [
    "FLOOR",
    "INDEX_WORDS",
    "POWERS",
    "SPELLINGS",
    "UNITS",
    "CellUnit",
    "CellWord",
    "Dimension",
    "EnterpriseTable",
    "IndexArc",
    "IndexPart",
    "PortIs",
    "TableColumn",
    "parse_index",
    "parse_unit",
]

FLOOR: Final = Dbm(-40.0)  # 0.1 µW, the smallest count of SFF-8472 above none
POWERS: Final = (Quantity.RX, Quantity.TX)

CellWord = int | float | str  # a value that stands for something else than a figure


class Dimension(StrEnum):
    """What a figure is a figure of. DBM and MILLIWATT are both powers, and never the same."""

    DBM = "dBm"
    MILLIWATT = "mW"
    CELSIUS = "°C"
    VOLT = "V"
    MILLIAMPERE = "mA"


@dataclass(frozen=True, slots=True)
class CellUnit:
    """What one count of a cell means: `step` of the dimension, exactly."""

    step: Fraction
    dimension: Dimension


_D = Dimension
# as written in the configuration, lower case: (the dimension, how much of it)
UNITS: Final[dict[str, tuple[Dimension, Fraction]]] = {
    "dbm": (_D.DBM, Fraction(1)),
    "w": (_D.MILLIWATT, Fraction(1000)),
    "mw": (_D.MILLIWATT, Fraction(1)),
    "uw": (_D.MILLIWATT, Fraction(1, 1000)),
    "nw": (_D.MILLIWATT, Fraction(1, 1_000_000)),
    "c": (_D.CELSIUS, Fraction(1)),
    "°c": (_D.CELSIUS, Fraction(1)),
    "v": (_D.VOLT, Fraction(1)),
    "mv": (_D.VOLT, Fraction(1, 1000)),
    "uv": (_D.VOLT, Fraction(1, 1_000_000)),
    "a": (_D.MILLIAMPERE, Fraction(1000)),
    "ma": (_D.MILLIAMPERE, Fraction(1)),
    "ua": (_D.MILLIAMPERE, Fraction(1, 1000)),
}
# as cells of switches spell units beside these; common practice, no source
SPELLINGS: Final = {"degc": "c", "celsius": "c", "volt": "v", "volts": "v"}
_UNIT = re.compile(r"(?:(\d{1,9}(?:\.\d{1,9})?)(?:/(\d{1,9}))?\s*)?([^\W\d]+|°c)")


def parse_unit(text: str) -> CellUnit:
    """The unit in `0.01 dBm`, `uW`, `1/256 C`, `2 uA`.

    Raises ValueError when it is none, or its step is 0.

    >>> parse_unit("0.1 uW").step
    Fraction(1, 10000)
    """
    folded = text.strip().replace("\u03bc", "u").replace("\u00b5", "u").lower()
    found = _UNIT.fullmatch(folded)
    if found is None or found.group(3) not in UNITS:
        raise ValueError(f"{text!r} is no unit")
    dimension, much = UNITS[found.group(3)]
    step = Fraction(found.group(1) or 1)
    over = int(found.group(2) or 1)
    if step == 0 or over == 0:
        raise ValueError(f"{text!r} has no step")
    return CellUnit(step / over * much, dimension)


class IndexPart(StrEnum):
    """What one number of a row's index counts."""

    IF_INDEX = "ifIndex"
    ENTITY = "entPhysicalIndex"
    PORT = "port"  # the front panel's number
    UNIT = "unit"  # the number of the switch in a stack, or of a card
    LANE = "lane"
    KIND = "kind"  # which quantity the row is about
    ANY = "any"  # means nothing


IndexArc = IndexPart | int
INDEX_WORDS: Final = tuple(part.value for part in IndexPart)


def parse_index(text: str) -> tuple[IndexArc, ...]:
    """The index in `ifIndex`, `ifIndex.lane`, `unit.port`, `any` or, for scalars, `0`.

    Raises ValueError when a part is neither a word of INDEX_WORDS nor a number, or a word stands
    twice.

    >>> parse_index("ifIndex.lane")
    (<IndexPart.IF_INDEX: 'ifIndex'>, <IndexPart.LANE: 'lane'>)
    """
    words = {part.value.lower(): part for part in IndexPart}
    arcs: list[IndexArc] = []
    for part in text.split("."):
        name = part.strip().lower()
        if name.isascii() and name.isdigit() and len(name) < 11:
            arcs.append(int(name))
        elif name in words and (name == "any" or words[name] not in arcs):
            arcs.append(words[name])
        else:
            raise ValueError(f"{part!r} is no part of an index")
    return tuple(arcs)


class PortIs(StrEnum):
    """What a column that tells a row's port holds."""

    IF_INDEX = "ifIndex"
    ENTITY = "entPhysicalIndex"
    PORT = "port"
    NAME = "name"


@dataclass(frozen=True, slots=True, kw_only=True)
class TableColumn:
    """Where one quantity is. `unit` None: text cells that state their unit themselves.

    `kind`: the value that marks this quantity where a table has one row a sensor. `no_light`: more
    words and values for darkness than the table's.
    """

    oid: Oid
    unit: CellUnit | None
    kind: int | str | None = None
    no_light: tuple[CellWord, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EnterpriseTable:
    """One table, or a group of scalars (`index` of numbers alone), already valid.

    Either `columns`, or pages of SFF-8472 in octet strings: `pages` with A0h and A2h one behind the
    other, or `page_a0` and `page_a2` apart. The port of a row comes out of the index, out of the
    column `port_oid`, or is `port_name`. With a `port` number in index or column: `port_name` is a
    template for the port's name ({port}, {unit}); without one the ifIndex is port + `port_offset`.
    `lane` None: the lowest lane is judged.
    """

    name: str
    index: tuple[IndexArc, ...]
    columns: Mapping[Quantity, TableColumn] = field(default_factory=dict)
    serial: Oid | None = None
    pages: Oid | None = None
    page_a0: Oid | None = None
    page_a2: Oid | None = None
    kind_oid: Oid | None = None
    maker: Oid | None = None
    part: Oid | None = None
    wavelength: Oid | None = None
    port_oid: Oid | None = None
    port_is: PortIs = PortIs.NAME
    port_name: str = ""
    port_offset: int = 0
    lane: int | None = None
    no_light: tuple[CellWord, ...] = ()
    not_there: tuple[CellWord, ...] = ()
    floor: Dbm = FLOOR

    @property
    def of_pages(self) -> bool:
        """Whether it holds raw pages rather than figures."""
        return any(p is not None for p in (self.pages, self.page_a0, self.page_a2))
