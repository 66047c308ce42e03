"""Distance of a receive power from the limits of its receiver."""

from __future__ import annotations

from strandkeeper.model.link import ReceiverLimits
from strandkeeper.optics.units import Db, Dbm

__all__ = ["headroom", "margin"]


def margin(rx: Dbm, limits: ReceiverLimits) -> Db | None:
    """Receive power above the weakest light that the receiver can use.

    Parameters
    ----------
    rx : Dbm
        Receive power [dBm].
    limits : ReceiverLimits
        Sensitivity [dBm] of the receiver, where it is known.

    Returns
    -------
    Db or None
        Receive power - sensitivity [dB]; negative below it, None while sensitivity is unknown.

    Raises
    ------
    Nothing.

    Notes
    -----
    As true as the reading: ±3 dB unless the reading is anchored by a power meter.

    Source
    ------
    Definition of power margin, common practice (receive power less receiver sensitivity).

    Example
    -------
    >>> margin(Dbm(-12.5), ReceiverLimits(sensitivity=Dbm(-19.0)))
    Db(value=6.5)
    """
    return None if limits.sensitivity is None else rx - limits.sensitivity


def headroom(rx: Dbm, limits: ReceiverLimits) -> Db | None:
    """Receive power below the strongest light that the receiver can use.

    Parameters
    ----------
    rx : Dbm
        Receive power [dBm].
    limits : ReceiverLimits
        Overload [dBm] of the receiver, where it is known.

    Returns
    -------
    Db or None
        Overload - receive power [dB]; negative above it, None while overload is unknown.

    Raises
    ------
    Nothing.

    Notes
    -----
    As true as the reading: ±3 dB unless the reading is anchored by a power meter.

    Source
    ------
    Definition of overload headroom, common practice.

    Example
    -------
    >>> headroom(Dbm(-4.0), ReceiverLimits(overload=Dbm(-3.0)))
    Db(value=1.0)
    """
    return None if limits.overload is None else limits.overload - rx
