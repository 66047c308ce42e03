"""How fine a receive power can be told apart: one count of 0.1 µW, in dB."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.optics.units import Db, Dbm, Microwatt

__all__ = ["FULL_SCALE", "Resolution", "count_resolution"]

_COUNT_UW: Final = 0.1

FULL_SCALE: Final = Microwatt(65535 * _COUNT_UW).to_milliwatt().to_dbm()


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """What one count more, and one count less, changes. `down` None: one less is no light."""

    up: Db
    down: Db | None


def count_resolution(power: Dbm) -> Resolution:
    """The step that one SFF-8472 count makes at a power.

    Parameters
    ----------
    power : Dbm [dBm]
        Any; sensible from -40 dBm (one count) to +8.16 dBm (full scale).

    Returns
    -------
    Resolution [dB]
        Both positive; `up` is the smaller of the two.

    Notes
    -----
    A change smaller than this is not evidence from single readings; a median over many resolves
    finer while the reading moves by more than one count.

    Source
    ------
    SFF-8472 Rev 12.2, section 9.2: powers in counts of 0.1 µW.

    Example
    -------
    >>> print(count_resolution(Dbm(-30)).up)
    0.41 dB
    """
    counts = power.to_milliwatt().to_microwatt().value / _COUNT_UW
    up = _level(counts + 1) - power
    # a hair above one count, as -40 dBm comes out in floating point, is one count
    down = None if counts < 1 + 1e-9 else power - _level(counts - 1)
    return Resolution(up=up, down=down)


def _level(counts: float) -> Dbm:
    return Microwatt(counts * _COUNT_UW).to_milliwatt().to_dbm()
