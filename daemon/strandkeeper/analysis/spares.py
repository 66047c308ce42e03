"""Which spare strand to move to when one fails."""

from __future__ import annotations

from collections.abc import Sequence

from strandkeeper.model.ledger import Strand, StrandUse

__all__ = ["best_spares"]


def best_spares(strands: Sequence[Strand], *, cable: str | None = None) -> tuple[Strand, ...]:
    """Spare strands, the best first: tried and found good, least loss, fewest plugs, most slack.

    Parameters
    ----------
    strands : sequence of Strand [dB, m]
        As the ledger has them.
    cable : str or None [-]
        Of this cable only.

    Returns
    -------
    tuple of Strand [-]
        Empty when there is none. A strand that was never tried comes after all that were.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> tried = Strand(cable="c", number=4, label="brown", tested_ms=5)
    >>> [s.number for s in best_spares([Strand(cable="c", number=3, label="green"), tried])]
    [4, 3]
    """
    spare = [s for s in strands if s.use is StrandUse.SPARE and (cable is None or s.cable == cable)]
    return tuple(sorted(spare, key=_rank))


def _rank(strand: Strand) -> tuple[bool, float, int, float, int]:
    loss = 1e9 if strand.tested_loss is None else strand.tested_loss.value
    slack = min((e.slack_m for e in strand.ends if e.slack_m is not None), default=0.0)
    attempts = sum(e.attempts for e in strand.ends)
    return (strand.tested_ms is None, loss, attempts, -slack, strand.number)
