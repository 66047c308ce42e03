"""Loss of one strand, and what one count of a reading is worth."""

from __future__ import annotations

from typing import Final

from strandkeeper.optics.units import Db, Dbm, Milliwatt

__all__ = ["resolution", "strand_loss"]

COUNT_MW: Final = 0.0001  # SFF-8472 Rev 12.2, 9.2: transmit and receive power in units of 0.1 µW


def strand_loss(tx: Dbm, rx: Dbm) -> Db:
    """Optical loss of one strand, far transmitter to near receiver.

    Parameters
    ----------
    tx : Dbm
        Transmit power at the sending end [dBm].
    rx : Dbm
        Receive power at the other end [dBm].

    Returns
    -------
    Db
        Positive is loss [dB]; may be negative by the sum of both readings' accuracy.

    Raises
    ------
    Nothing.

    Notes
    -----
    The constant errors of both modules are in it; they cancel in a change of loss only.

    Source
    ------
    Definition of insertion loss.

    Example
    -------
    >>> strand_loss(Dbm(-5.0), Dbm(-8.5))
    Db(value=3.5)
    """
    return tx - rx


def resolution(power: Dbm) -> Db:
    """What one count of 0.1 µW changes a reading by, at this power.

    Parameters
    ----------
    power : Dbm
        The reading [dBm].

    Returns
    -------
    Db
        The step to the next higher reading [dB], always positive.

    Raises
    ------
    Nothing.

    Notes
    -----
    A switch may round more coarsely still; this is the least that a digital module does.

    Source
    ------
    SFF-8472 Rev 12.2, section 9.2 (0.1 µW a count).

    Example
    -------
    >>> f"{resolution(Dbm(-20.0)).value:.3f}"
    '0.043'
    """
    here = power.to_milliwatt()
    return Milliwatt(here.value + COUNT_MW).to_dbm() - power
