"""What identification by physics may conclude of an unknown table: figures, units, and why.

Nothing of it is ever taken over by itself: a person reads it, proves it, and writes it down.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import Final

from strandkeeper.model.enterprise_table import CellUnit, CellWord, Dimension, IndexArc, PortIs
from strandkeeper.model.oid import Oid
from strandkeeper.model.power import NoLight
from strandkeeper.model.reading import Quantity

__all__ = [
    "Candidate",
    "Evidence",
    "EvidenceKind",
    "Figure",
    "Place",
    "Proof",
    "ProofKind",
    "Proposal",
    "Sample",
    "unit_text",
]

_BASES: Final = {  # the largest word first that leaves no fraction below a tenth
    Dimension.DBM: (("dBm", Fraction(1)),),
    Dimension.MILLIWATT: (
        ("mW", Fraction(1)),
        ("uW", Fraction(1, 1000)),
        ("nW", Fraction(1, 1_000_000)),
    ),
    Dimension.CELSIUS: (("C", Fraction(1)),),
    Dimension.VOLT: (
        ("V", Fraction(1)),
        ("mV", Fraction(1, 1000)),
        ("uV", Fraction(1, 1_000_000)),
    ),
    Dimension.MILLIAMPERE: (("mA", Fraction(1)), ("uA", Fraction(1, 1000))),
}


def unit_text(unit: CellUnit) -> str:
    """A unit as the configuration writes it: the inverse of parse_unit.

    Example:
    -------
    >>> from strandkeeper.model.enterprise_table import parse_unit
    >>> [unit_text(parse_unit(u)) for u in ("0.1 uW", "1/256 C", "mV", "2 uA")]
    ['0.1 uW', '1/256 C', 'mV', '2 uA']
    """
    bases = _BASES[unit.dimension]
    word, much = next(((w, m) for w, m in bases if unit.step / m >= Fraction(1, 10)), bases[-1])
    count = unit.step / much
    if count == 1:
        return word
    decimal = Fraction(f"{float(count):.4f}") == count
    return (
        f"{float(count):.4f}".rstrip("0").rstrip(".") + f" {word}"
        if decimal
        else (f"{count.numerator}/{count.denominator} {word}")
    )


class EvidenceKind(StrEnum):
    """One reason for or against a column being a quantity; the sign of its weight says which."""

    RARITY = "rarity"  # how seldom a column is that quantity in that unit, before any look at it
    IN_RANGE = "in-range"  # figures: lowest, highest, in the unit
    ALIKE = "alike"  # rows differ as the ports of one switch do
    LANES = "lanes"  # alike in all lanes of a module, or not, as the quantity is
    UNIT_IN_TEXT = "unit-in-text"
    NAMED = "named"  # the word that marks its rows
    LIVE = "live"  # figures: changes seen, chances to change
    ONLY_GROWS = "only-grows"
    ROWS_ON_COPPER = "rows-on-copper"  # figures: rows
    ROWS_ARE_MODULES = "rows-are-modules"  # figures: rows
    DARK_PORTS = "dark-ports"  # figures: rows dark, rows with light
    STEPS = "steps"  # the counts lie in the steps that a module stores
    BETWEEN_LIMITS = "between-limits"  # constants on both sides stand behind it
    SAME_UNIT = "same-unit"
    LOSS = "loss"  # figures: median of sent less received, dB
    VARIES_MORE = "varies-more"  # received differs more from port to port than sent
    USUAL_ORDER = "usual-order"
    AS_STORED = "as-stored"
    TOGETHER = "together"  # figures: how many of the five figures of a module stand together
    ENOUGH_LIGHT = "enough-light"  # figures: rows up with less light than needed, or too much
    FAR_END = "far-end"  # figures: median of sent there less received here, dB


@dataclass(frozen=True, slots=True)
class Evidence:
    """A reason, its weight in natural logarithms of odds, and the figures it speaks of."""

    kind: EvidenceKind
    weight: float
    figures: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A column without the row's index; `kind` marks the rows where one column holds several."""

    column: Oid
    kind: int | str | None = None


@dataclass(frozen=True, slots=True)
class Sample:
    """One row as it would be read: the port, as far as it is known, and the figure in the unit."""

    row: Oid
    port: str
    figure: float | NoLight


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One way to read a quantity. `unit` None: the cells are text that names its unit.

    `probability` is among everything that was considered on this switch, nothing at all included.
    """

    quantity: Quantity
    place: Place
    unit: CellUnit | None
    probability: float
    evidence: tuple[Evidence, ...] = ()
    samples: tuple[Sample, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One quantity: ways to read it, best first; `confident`: the second is out of the question."""

    quantity: Quantity
    ranked: tuple[Candidate, ...]
    confident: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One table and what may stand in it; `probability` that it holds readings of modules.

    `index`, `kind_oid`, `port_oid`, `port_is`, `port_name`, `port_offset`, `no_light`, `not_there`
    are as in EnterpriseTable. `port_known` False: nothing tells which port a row is about.
    """

    entry: Oid
    index: tuple[IndexArc, ...]
    figures: tuple[Figure, ...]
    probability: float
    port_known: bool = True
    kind_oid: Oid | None = None
    port_oid: Oid | None = None
    port_is: PortIs = PortIs.NAME
    port_name: str = ""
    port_offset: int = 0
    no_light: tuple[CellWord, ...] = ()
    not_there: tuple[CellWord, ...] = ()

    def figure(self, quantity: Quantity) -> Figure | None:
        """What is proposed for one quantity."""
        return next((f for f in self.figures if f.quantity is quantity), None)


class ProofKind(StrEnum):
    """What pulling a plug showed."""

    ONE = "one"  # one column went dark on one row, as receive power does
    SEVERAL = "several"
    NOTHING = "nothing"  # nothing went dark: another port, a slow agent, or no such column
    ALL = "all"  # the whole row went: that was the module, not the plug


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """Which cells went dark between two readings of the same objects, and what follows."""

    kind: ProofKind
    cells: tuple[Oid, ...] = ()
    columns: tuple[Place, ...] = field(default=())
