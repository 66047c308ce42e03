"""From margin to bit error ratio, as a band: a reading's accuracy spans many decades."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import InputError
from strandkeeper.optics.units import Db

__all__ = ["ErrorRatioBand", "error_ratio_at", "error_ratio_band", "q_from_ratio", "ratio_from_q"]

_HALVINGS: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class ErrorRatioBand:
    """Bit error ratios [-] at margin + accuracy (best), at margin, at margin - accuracy (worst).

    0.0 means less than can be written, not never.
    """

    best: float
    middle: float
    worst: float


def ratio_from_q(q: float) -> float:
    """Bit error ratio of a decision with that Q factor.

    Parameters
    ----------
    q : float [-, >= 0]
        (I1 - I0)/(s1 + s0), linear.

    Returns
    -------
    float [-, 0 to 0.5]
        0.0 below about 1e-308.

    Raises
    ------
    InputError
        When q is negative or not a number.

    Notes
    -----
    Uses erfc, never 1 - erf, which loses all digits below 1e-16.

    Source
    ------
    BER = ½·erfc(Q/√2): Keiser, Optical Fiber Communications, eq. 7.13; IEEE 802.3 eq. 95-1.

    Example
    -------
    >>> f"{ratio_from_q(7):.5e}"
    '1.27981e-12'
    """
    if not q >= 0:
        raise InputError(f"a Q factor of {q} is none", hint="give a figure of 0 or more")
    return 0.5 * math.erfc(q / math.sqrt(2))


def q_from_ratio(ratio: float) -> float:
    """Q factor that gives a bit error ratio.

    Parameters
    ----------
    ratio : float [-, above 1e-300 to 0.5]
        Bit error ratio.

    Returns
    -------
    float [-]
        To the last digits of a float.

    Raises
    ------
    InputError
        When the ratio is outside that range.

    Source
    ------
    Inverse of `ratio_from_q`, by halving: own design, no source.

    Example
    -------
    >>> round(q_from_ratio(1e-12), 5)
    7.03448
    """
    if not 1e-300 < ratio <= 0.5:
        raise InputError(
            f"a bit error ratio of {ratio} is out of range", hint="give one from 1e-300 to 0.5"
        )
    low, high = 0.0, 38.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if ratio_from_q(middle) > ratio:
            low = middle
        else:
            high = middle
        if high - low < 1e-13:
            break
    return (low + high) / 2


def error_ratio_at(margin: Db, *, objective: float = 1e-12) -> float:
    """Bit error ratio of a receiver with that much light beyond its sensitivity.

    Parameters
    ----------
    margin : Db [dB]
        Receive power - sensitivity; negative below sensitivity.
    objective : float [-, above 1e-300 to 0.5]
        Bit error ratio at which the sensitivity is quoted.

    Returns
    -------
    float [-, 0 to 0.5]
        0.0 below about 1e-308.

    Raises
    ------
    InputError
        When the objective is out of range.

    Notes
    -----
    Holds while thermal noise decides, so that Q grows with optical power: 1 dB optical is 2 dB
    electrical. Not for avalanche or optically amplified receivers. Real receivers have floors, so
    the slope is optimistic: IEEE 802.3 58.3.2 allows 1 dB from 1e-10 to 1e-12 where this needs
    0.44. With forward error correction (25 Gb/s) this is the ratio before correction.

    Source
    ------
    Q(P) = Qs·10^((P - Ps)/10): Keiser; Agrawal, Fiber-Optic Communication Systems, 4.5 and 4.6.

    Example
    -------
    >>> f"{error_ratio_at(Db(-1)):.2e}"
    '1.15e-08'
    """
    return ratio_from_q(q_from_ratio(objective) * 10 ** (margin.value / 10))


def error_ratio_band(margin: Db, *, accuracy: Db, objective: float = 1e-12) -> ErrorRatioBand:
    """The bit error ratios that a margin may stand for, given how exact the reading is.

    Parameters
    ----------
    margin : Db [dB]
        Reported receive power - sensitivity.
    accuracy : Db [dB, >= 0]
        How far the reported power may be from the truth, either way.
    objective : float [-, above 1e-300 to 0.5]
        Bit error ratio at which the sensitivity is quoted.

    Returns
    -------
    ErrorRatioBand [-]
        best <= middle <= worst.

    Raises
    ------
    InputError
        When the accuracy is negative or the objective out of range.

    Notes
    -----
    ±3 dB spans more than ten decades: this is an order of magnitude, not a measurement.

    Source
    ------
    `error_ratio_at` at margin ± accuracy; ±3 dB: SFF-8472 Rev 12.2, section 9.2.

    Example
    -------
    >>> band = error_ratio_band(Db(3), accuracy=Db(3))
    >>> f"{band.worst:.0e}"
    '1e-12'
    """
    if not accuracy.value >= 0:
        raise InputError(f"an accuracy of {accuracy} is none", hint="give 0 dB or more")
    return ErrorRatioBand(
        best=error_ratio_at(margin + accuracy, objective=objective),
        middle=error_ratio_at(margin, objective=objective),
        worst=error_ratio_at(margin - accuracy, objective=objective),
    )
