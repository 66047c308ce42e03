"""What goes wrong with connectors made by hand, where the figures of a live view fit it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.model.rework import Handwork

__all__ = ["LiveFigures", "explain_handwork"]

# own design, no source: what parts the signs below
TENS_DB: Final = 10.0
RESTLESS_DB: Final = 1.0
SHORT_DB: Final = 3.0
NOTICED_DB: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveFigures:
    """One direction now: what it loses above what it should [dB], and how it moves.

    `excess_db` None: dark or nothing to compare with. `peak_db` is between the extremes of the
    last half minute. `dark` both ways and lasers on at both ends are what a pair shows that is
    not crossed. `spare` tells whether the ledger knows a spare strand.
    """

    excess_db: float | None = None
    peak_db: float | None = None
    dark: bool = False
    both_dark: bool = False
    both_send: bool = False
    spare: bool = False


def explain_handwork(figures: LiveFigures) -> tuple[Handwork, ...]:
    """The signs that fit, most likely first.

    Parameters
    ----------
    figures : LiveFigures [dB]
        One direction now.

    Returns
    -------
    tuple of Handwork [-]
        Empty when nothing is out of the ordinary. A sign fits, it does not prove.

    Raises
    ------
    Nothing.

    Notes
    -----
    Fibre that slid back in a fan-out tube comes out short: tens of dB, or restless light. A cleave
    half a millimetre too short costs from about 3 dB to tens (optics.gap: 94 µm of air lose 3 dB at
    1310 nm). Dirt costs up to a few dB and stays as it is.

    Source
    ------
    Common practice, no source; sizes by optics.gap.

    Example
    -------
    >>> explain_handwork(LiveFigures(excess_db=14.0))[0]
    <Handwork.SLID_BACK: 'slid-back'>
    """
    found: list[Handwork] = []
    if figures.both_dark and figures.both_send:
        found.append(Handwork.NOT_CROSSED)
    excess = figures.excess_db
    restless = figures.peak_db is not None and figures.peak_db > RESTLESS_DB
    if figures.dark or restless or (excess is not None and excess >= TENS_DB):
        found.append(Handwork.SLID_BACK)
    if figures.dark or (excess is not None and excess >= SHORT_DB):
        found.append(Handwork.CLEAVED_SHORT)
    if excess is not None and NOTICED_DB <= excess < TENS_DB and not restless:
        found.insert(0 if excess < SHORT_DB else len(found), Handwork.DIRT)
    if found and figures.spare:
        found.append(Handwork.TRY_A_SPARE)
    return tuple(found)
