"""The cable's ledger: every strand, what it carries, what was done to its ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.optics.units import Db

__all__ = ["TIA_598", "Cable", "Strand", "StrandEnd", "StrandUse", "default_label"]

# ANSI/TIA-598: fibres 1 to 12, and tubes 1 to 12 in the same order
TIA_598: Final = (
    "blue",
    "orange",
    "green",
    "brown",
    "slate",
    "white",
    "red",
    "black",
    "yellow",
    "violet",
    "rose",
    "aqua",
)


class StrandUse(StrEnum):
    """What a strand is good for now."""

    IN_USE = "in-use"
    SPARE = "spare"
    BROKEN = "broken"


def default_label(number: int, strands: int) -> str:
    """The colour of a strand by TIA-598; the tube's colour first in cables of more than twelve.

    Beyond 144 the colours repeat; the number then tells strands apart.

    >>> default_label(2, 12), default_label(14, 24), default_label(145, 288)
    ('orange', 'orange/orange', 'blue/blue')
    """
    tube, fibre = divmod(number - 1, 12)
    colour = TIA_598[fibre]
    return colour if strands <= 12 else f"{TIA_598[tube % 12]}/{colour}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cable:
    """One cable; `a` and `b` are what the owner calls its two ends."""

    name: str
    strands: int
    length_m: float | None = None
    fibre: str = "G.652.D"
    a: str = ""
    b: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StrandEnd:
    """One end of a strand: fibre still in hand for new plugs, and plugs made so far."""

    slack_m: float | None = None
    attempts: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """One strand, numbered from 1 in its cable.

    `direction` None with a link: both ways on one strand. `tested_ms` is when it was last tried
    from end to end and found good, with what it then lost, where that was measured.
    """

    cable: str
    number: int
    label: str
    use: StrandUse = StrandUse.SPARE
    link: LinkName | None = None
    direction: Direction | None = None
    ends: tuple[StrandEnd, StrandEnd] = field(default_factory=lambda: (StrandEnd(), StrandEnd()))
    tested_ms: int | None = None
    tested_loss: Db | None = None
    note: str = ""

    def end(self, end: End) -> StrandEnd:
        """What is known of one end."""
        return self.ends[end]
