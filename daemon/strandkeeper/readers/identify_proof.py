"""The proof of an identification: a plug is pulled, and the column that goes dark is receive power.

Only receive power can: temperature, supply, bias and transmit power of the near module do not
notice the plug. A whole row that goes means that the module was pulled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from strandkeeper.model.identification import Place, Proof, ProofKind
from strandkeeper.model.oid import Oid, Value
from strandkeeper.readers.identify_cells import Cell, Count, Word, cell_of

__all__ = ["proof"]

_FALL: Final = 5.0  # 7 dB in a linear unit: no link that was up falls so far and stays up
_WHOLE_ROW: Final = 3  # figures of different columns that went together: the module is out


def proof(
    before: Mapping[Oid, Value], during: Mapping[Oid, Value], places: Sequence[Place] = ()
) -> Proof:
    """Which cells went dark between two looks at the same objects.

    `places`: the columns in question; cells that belong to none of them are told by their OID.
    """
    dark = tuple(o for o in sorted(before) if _went(cell_of(before[o]), cell_of(during.get(o))))
    columns = tuple(sorted({p for oid in dark for p in places if _in(oid, p)}, key=_order))
    if not dark:
        return Proof(kind=ProofKind.NOTHING)
    several = len(columns) if columns else len(dark)
    kind = ProofKind.ONE if several == 1 else ProofKind.SEVERAL
    if several >= _WHOLE_ROW:
        kind = ProofKind.ALL
    return Proof(kind=kind, cells=dark, columns=columns)


def _in(oid: Oid, place: Place) -> bool:
    """A kind that is a number stands in the index, as a rule; a word stands in another column."""
    size = len(place.column)
    kind = place.kind
    return oid[:size] == place.column and (not isinstance(kind, int) or kind in oid[size:])


def _order(place: Place) -> tuple[Oid, str]:
    return place.column, str(place.kind)


def _went(before: Cell, during: Cell) -> bool:
    """A figure became nothing, a word, zero, or far less than it was; small numbers are states."""
    if not isinstance(before, Count) or before.value == 0:
        return False
    if during is None or isinstance(during, Word):
        return True
    return _fell(before.value, during.value)


def _fell(before: float, during: float) -> bool:
    if before > 0:
        return during <= before / _FALL and during < before - 1e-9
    return during < 1.5 * before
