"""A reading tied to a power meter: limits in the figures of the module that was measured."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from strandkeeper.model.link import DirectionFacts, ReceiverLimits
from strandkeeper.optics.units import Db

__all__ = ["ANCHORED_ACCURACY", "tied"]

# design: ±1 dB where a calibrated reading anchors the module (meter, mating and repeatability)
ANCHORED_ACCURACY: Final = Db(1.0)


def tied(known: DirectionFacts, correction: Db) -> DirectionFacts:
    """One direction's facts with its limits in what its module reports.

    A module that reads 0.7 dB too much reaches its sensitivity at a reading 0.7 dB higher: the
    margin is then true although the readings stay as reported.

    Parameters
    ----------
    known : DirectionFacts
        As configured [dBm, dB].
    correction : Db
        Meter less module [dB].

    Returns
    -------
    DirectionFacts
        [dBm, dB] Limits less the correction, accuracy 1 dB at most, anchored.

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> from strandkeeper.optics.units import Dbm
    >>> known = DirectionFacts(limits=ReceiverLimits(sensitivity=Dbm(-19.0)))
    >>> tied(known, Db(-0.5)).limits.sensitivity
    Dbm(value=-18.5)
    """
    limits = known.limits
    shifted = ReceiverLimits(
        sensitivity=None if limits.sensitivity is None else limits.sensitivity - correction,
        overload=None if limits.overload is None else limits.overload - correction,
        origin=limits.origin,
        source=f"{limits.source}; shown {abs(correction.value):.1f} dB "
        f"{'lower' if correction.value > 0 else 'higher'}: in the figures of this module, which a "
        "power meter tied down",
        overload_needs_errors=limits.overload_needs_errors,
    )
    accuracy = min(known.accuracy, ANCHORED_ACCURACY)
    return replace(known, limits=shifted, accuracy=accuracy, anchored=True)
