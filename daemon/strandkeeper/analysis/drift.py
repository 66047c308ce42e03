"""Lasting slopes: Theil-Sen over 7, 30 and 180 days, with intervals that know of autocorrelation.

A drift is reported by a threshold of its own, far outside the 95 % interval, because three
windows in two directions are looked at every day of the year.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["MONTH_DAYS", "Slope", "TrendWindow", "pair_slopes", "slope_of"]

MONTH_DAYS: Final = 30.44
Z95: Final = 1.96
Z_KEEP: Final = 3.0
PRIOR_RHO: Final = 0.3  # what few points would say of themselves is too uncertain to be used bare
PRIOR_POINTS: Final = 15
EFFICIENCY: Final = 1.05  # Theil-Sen against least squares on normal noise
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrendWindow:
    """How far back a slope looks, in medians of an hour or a day, and what it takes to report.

    `z_report` in standard deviations, more where more independent looks are taken a year; `least`
    [0.001 dB/month] is the slope below which a creep is not worth a word.
    """

    days: int
    spacing_days: float
    z_report: float
    least: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """A slope [0.001 dB/month] with its 95 % half width; `certain` and `likely` for reporting."""

    value: float
    half: float
    level: float  # of the fitted line at its last point [0.001 dB]
    level_sd: float
    days: float
    certain: bool
    likely: bool


@lru_cache(maxsize=4)
def _pairs(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Every pair once; a week of hours and a half-year of days come again and again."""
    return np.triu_indices(count, 1)


def pair_slopes(time: Floats, value: Floats) -> Floats:
    """Slopes of all pairs of points, for their median (Theil-Sen).

    Parameters
    ----------
    time : array, shape (n,)
        Strictly increasing [any unit].
    value : array, shape (n,)
        Values [any unit].

    Returns
    -------
    array, shape (n(n-1)/2,)
        Slopes [value per time].

    Raises
    ------
    Nothing.

    Source
    ------
    Sen, J. Am. Stat. Assoc. 63 (1968) 1379, section 2.

    Example
    -------
    >>> float(np.median(pair_slopes(np.array([0.0, 1, 2, 3]), np.array([0.0, 1, 2, 30]))))
    5.5
    """
    first, second = _pairs(len(time))
    slopes: Floats = (value[second] - value[first]) / (time[second] - time[first])
    return slopes


def _quantile(z: float, freedom: float) -> float:
    """Student's t for a normal quantile (Abramowitz and Stegun 26.7.5, first two terms)."""
    first = (z**3 + z) / (4 * freedom)
    second = (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
    return z + first + second


def _memory(time: Floats, left: Floats, spacing: float) -> float:
    """Correlation of neighbours one spacing apart, corrected for the fit's bias; 0 to 0.97."""
    near = np.diff(time) < 1.5 * spacing
    if near.sum() < 6:
        return 0.5
    spread = 1.4826 * float(np.median(np.abs(left))) + 1e-9
    calm = np.clip(left, -4 * spread, 4 * spread)
    products = float((calm[1:] * calm[:-1])[near].mean())
    rho = products / max(float((calm**2).mean()), 1e-12)
    rho += (1 + 4 * rho) / len(left)
    rho = (rho * len(left) + PRIOR_POINTS * PRIOR_RHO) / (len(left) + PRIOR_POINTS)
    return float(np.clip(rho, 0.0, 0.97))


def slope_of(
    time_days: Floats, value: Floats, window: TrendWindow, *, extra_sd: float, floor: float
) -> Slope | None:
    """Robust slope with an interval that allows for autocorrelation and unequal gaps.

    Parameters
    ----------
    time_days : array, shape (n,)
        Times of the medians, strictly increasing [d].
    value : array, shape (n,)
        Medians [0.001 dB].
    window : TrendWindow
        Spacing of the medians [d] and what it takes to report [0.001 dB/month].
    extra_sd : float
        Standard deviation that comes on top, from the temperature coefficients [0.001 dB/month].
    floor : float
        Standard deviation that a median has at least, from its resolution [0.001 dB].

    Returns
    -------
    Slope or None
        [0.001 dB/month] Positive is growing loss; None with fewer than ten points.

    Raises
    ------
    Nothing.

    Notes
    -----
    The spread of the residuals is widened by (1+ρ)/(1-ρ), ρ their lag-one correlation corrected
    for small samples, and taken as Student's with the degrees of freedom left.

    Source
    ------
    Slope: Sen, J. Am. Stat. Assoc. 63 (1968) 1379. Variance inflation of a first-order
    autoregressive series and the bias of ρ: Kendall, Biometrika 41 (1954) 403, eq. (20), from
    memory, unconfirmed. Thresholds: own design, set on the bench's first seed family.

    Example
    -------
    >>> days = np.arange(40.0)
    >>> window = TrendWindow(days=30, spacing_days=1.0, z_report=5.0, least=50.0)
    >>> found = slope_of(days, days * 3.0, window, extra_sd=0.0, floor=1.0)
    >>> round(found.value, 1)
    91.3
    """
    count = len(time_days)
    if count < 10:
        return None
    daily = float(np.median(pair_slopes(time_days, value)))
    left = value - daily * time_days
    centre = float(np.median(left))
    left = left - centre
    rho = _memory(time_days, left, window.spacing_days)
    widen = (1 + rho) / (1 - rho)
    sd = max(1.4826 * float(np.median(np.abs(left))), 0.5 * float(left.std()), floor)
    arm = float(((time_days - time_days.mean()) ** 2).sum()) ** 0.5
    slope_sd = EFFICIENCY * sd * widen**0.5 / arm * MONTH_DAYS
    freedom = max(3.0, count / widen - 2)
    whole = (slope_sd**2 + extra_sd**2) ** 0.5
    value_month = daily * MONTH_DAYS
    last = float(time_days[-1])
    level_sd = (
        (sd * sd * widen / count) + (slope_sd / MONTH_DAYS * (last - time_days.mean())) ** 2
    ) ** 0.5
    size = abs(value_month)
    return Slope(
        value=value_month,
        half=_quantile(Z95, freedom) * whole,
        level=centre + daily * last,
        level_sd=level_sd,
        days=last - float(time_days[0]),
        certain=size > max(_quantile(window.z_report, freedom) * whole, window.least),
        likely=size > max(_quantile(Z_KEEP, freedom) * whole, window.least / 2),
    )
