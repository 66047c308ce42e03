"""Counts to units, by the module itself (internal) or by its constants (external)."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import DecodeError

__all__ = ["IDENTITY_CONSTANTS", "Constants", "constants_from", "rx_counts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Constants:
    """A2h bytes 56 to 91. Slopes are plain numbers (from 8.8 fixed point), offsets in counts.

    `rx` is (Rx_PWR(4), ... Rx_PWR(0)): the highest power first, as the page has them.
    `linear` is slope and offset of temperature, supply, bias and transmit power, in that order.
    """

    rx: tuple[float, float, float, float, float]
    linear: tuple[tuple[float, int], tuple[float, int], tuple[float, int], tuple[float, int]]

    @property
    def changes_nothing(self) -> bool:
        """Slope 1 and offset 0 throughout, which internally calibrated modules carry."""
        return self == IDENTITY_CONSTANTS

    @property
    def usable(self) -> bool:
        """Whether they could be constants at all: every slope above 0, every float finite."""
        return all(slope > 0 for slope, _ in self.linear) and all(map(math.isfinite, self.rx))


_ONE: Final = (1.0, 0)
IDENTITY_CONSTANTS: Final = Constants(rx=(0.0, 0.0, 0.0, 1.0, 0.0), linear=(_ONE, _ONE, _ONE, _ONE))

# bias, transmit power, temperature, supply: the order of the page (Table 9-6)
_LAYOUT: Final = struct.Struct(">5f HhHhHhHh")


def constants_from(page: bytes) -> Constants:
    """The constants of external calibration.

    Parameters
    ----------
    page : bytes [-, shape (>= 92,)]
        The A2h page.

    Returns
    -------
    Constants [-]
        As stored; `usable` says whether they can be.

    Raises
    ------
    DecodeError
        When the page ends before byte 92.

    Notes
    -----
    NaN and infinity are possible bit patterns: 'NaN indicates an invalid result' (section 9.5).

    Source
    ------
    SFF-8472 Rev 12.2, Tables 9-6 to 9-10.

    Example
    -------
    >>> constants_from(bytes(92)).linear[0]
    (0.0, 0)
    """
    if len(page) < 92:
        raise DecodeError(
            f"the page ends after {len(page)} bytes, before the calibration constants do (byte 91)",
            offset=len(page),
        )
    r4, r3, r2, r1, r0, i_s, i_o, p_s, p_o, t_s, t_o, v_s, v_o = _LAYOUT.unpack_from(page, 56)
    return Constants(
        rx=(r4, r3, r2, r1, r0),
        linear=((t_s / 256, t_o), (v_s / 256, v_o), (i_s / 256, i_o), (p_s / 256, p_o)),
    )


def rx_counts(raw: int, constants: Constants) -> float:
    """Receive power in counts of 0.1 µW from the converter's count.

    Parameters
    ----------
    raw : int [counts, 0 to 65535]
        Rx_PWR_AD.
    constants : Constants [-]
        Of the same module.

    Returns
    -------
    float [counts of 0.1 µW]
        May be negative, not finite, or beyond the scale: the caller judges.

    Notes
    -----
    'Rx_PWR_ADe4' in the text means the fourth power, not an exponent of ten. The text heads its
    equations in µW and then says that the result is in units of 0.1 µW: the second is consistent.

    Source
    ------
    SFF-8472 Rev 12.2, section 9.3 (5).

    Example
    -------
    >>> rx_counts(1000, IDENTITY_CONSTANTS)
    1000.0
    """
    r4, r3, r2, r1, r0 = constants.rx
    return (((r4 * raw + r3) * raw + r2) * raw + r1) * raw + r0
