"""Temperature compensation: learnt from how the loss moves within the day, used if it earns it.

Within a day a strand does not creep; what follows the temperature of the two modules there is the
weather. Each closed day leaves the sums of squares and products of its hours' deviations; the
coefficients come from the sums of the last days, days with trouble in them weighing less.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from strandkeeper.analysis.slow import DayRow

__all__ = ["Weather", "learn"]

DAYS_USED: Final = 60
LEAST_DAYS: Final = 7
LEAST_SWING_CC2: Final = 50.0**2  # mean square deviation within the day: 0.5 °C
GAIN: Final = 0.98  # out-of-sample squares must fall below this share
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    """Coefficients [0.001 dB per 0.01 °C] at sender and receiver and their covariance.

    `used`: compensation earns its place; else the coefficients only widen intervals.
    """

    sender: float = 0.0
    receiver: float = 0.0
    cov: tuple[float, float, float] = (0.0, 0.0, 0.0)  # (ss, sr, rr)
    used: bool = False

    def part(self, sender_cc: float, receiver_cc: float) -> float:
        """What of a loss is the weather's [0.001 dB], 0 where compensation is not used."""
        return self.sender * sender_cc + self.receiver * receiver_cc if self.used else 0.0

    def variance(self, sender_cc: float, receiver_cc: float) -> float:
        """Variance of what is left of a change of temperature [(0.001 dB)²]."""
        ss, sr, rr = self.cov
        left = ss * sender_cc**2 + 2 * sr * sender_cc * receiver_cc + rr * receiver_cc**2
        if not self.used:
            left += (self.sender * sender_cc + self.receiver * receiver_cc) ** 2
        return left


def learn(days: Sequence[DayRow]) -> Weather | None:
    """Fit the coefficients to the last days.

    Parameters
    ----------
    days : sequence of DayRow
        Closed days, the newest last [sums in 0.001 dB and 0.01 °C].

    Returns
    -------
    Weather or None
        [0.001 dB per 0.01 °C] None with fewer than seven days that have temperatures and swing.

    Raises
    ------
    Nothing.

    Notes
    -----
    Weighted least squares in two rounds; covariance by the sandwich over days, so that noise
    that is correlated within a day does not make it look better known than it is. `used` needs
    the coefficients of the even days to explain the odd days and the other way round.

    Source
    ------
    Weighted least squares and sandwich covariance: White, Econometrica 48 (1980) 817, eq. (8);
    from memory, unconfirmed. Own design otherwise.

    Example
    -------
    >>> learn([]) is None
    True
    """
    sums = np.array([day.sums for day in days[-DAYS_USED:] if day.sums], dtype=np.float64).reshape(
        -1, 7
    )
    sums = sums[sums[:, 0] >= 12]
    if len(sums) < LEAST_DAYS:
        return None
    swing = (sums[:, 1] + sums[:, 3]).sum() / sums[:, 0].sum()
    if swing < LEAST_SWING_CC2:
        return None
    weight = _weights(sums)
    fit = _solve(sums, weight)
    cov = _sandwich(sums, weight, fit)
    return Weather(sender=float(fit[0]), receiver=float(fit[1]), cov=cov, used=_earns(sums, weight))


def _matrix(sums: Floats, weight: Floats) -> Floats:
    aa, ab, bb = (float(weight @ sums[:, column]) for column in (1, 2, 3))
    ridge = 1e-4 * (aa + bb) + 1.0
    return np.array([[aa + ridge, ab], [ab, bb + ridge]])


def _solve(sums: Floats, weight: Floats) -> Floats:
    moment = np.array([weight @ sums[:, 4], weight @ sums[:, 5]])
    solved: Floats = np.linalg.solve(_matrix(sums, weight), moment)
    return solved


def _left(sums: Floats, fit: Floats) -> Floats:
    """Squares left on each day with these coefficients."""
    a, b = fit
    left: Floats = (
        sums[:, 6]
        - 2 * (a * sums[:, 4] + b * sums[:, 5])
        + a * a * sums[:, 1]
        + 2 * a * b * sums[:, 2]
        + b * b * sums[:, 3]
    )
    return left


def _weights(sums: Floats) -> Floats:
    """Days whose squares stand out weigh less."""
    weight = np.ones(len(sums))
    for _ in range(2):
        left = np.maximum(_left(sums, _solve(sums, weight)), 0.0) / sums[:, 0]
        typical = max(float(np.median(left)), 1.0)
        weight = 1.0 / np.maximum(1.0, left / (4 * typical))
    return weight


def _sandwich(sums: Floats, weight: Floats, fit: Floats) -> tuple[float, float, float]:
    a, b = fit
    score = np.stack(
        [
            weight * (sums[:, 4] - a * sums[:, 1] - b * sums[:, 2]),
            weight * (sums[:, 5] - a * sums[:, 2] - b * sums[:, 3]),
        ]
    )
    inverse = np.linalg.inv(_matrix(sums, weight))
    cov = inverse @ (score @ score.T) @ inverse * len(sums) / max(1, len(sums) - 2)
    return float(cov[0, 0]), float(cov[0, 1]), float(cov[1, 1])


def _earns(sums: Floats, weight: Floats) -> bool:
    """Whether each half of the days explains the other."""
    before = after = 0.0
    for half in (0, 1):
        learnt, tried = sums[half::2], sums[1 - half :: 2]
        fit = _solve(learnt, weight[half::2])
        kept = weight[1 - half :: 2]
        before += float(kept @ tried[:, 6])
        after += float(kept @ _left(tried, fit))
    return after < GAIN * before
