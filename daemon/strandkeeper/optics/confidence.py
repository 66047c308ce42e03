"""What counted errors prove: bits needed, limits of the error ratio, by Poisson."""

from __future__ import annotations

import math
from typing import Final

from strandkeeper.errors import InputError

__all__ = [
    "bits_needed",
    "confidence_level",
    "error_ratio_lower",
    "error_ratio_upper",
    "seconds_needed",
]

_MOST_STEPS: Final = 10_000


def bits_needed(ratio: float, *, confidence: float = 0.95, errors: int = 0) -> float:
    """Bits to check, with so many errors seen, before a smaller error ratio is shown.

    Parameters
    ----------
    ratio : float [-, above 0, below 1]
        Bit error ratio that is to be undercut.
    confidence : float [-, above 0, below 1]
        0.95 is 95 %.
    errors : int [-, 0 to 1_000_000]
        Errors seen.

    Returns
    -------
    float [bit]
        -ln(1 - confidence)/ratio for no errors.

    Raises
    ------
    InputError
        When a figure is out of range.

    Notes
    -----
    Line bits that were really checked: host counters count frames, idle may go unchecked. Real
    faults come in bursts, for which Poisson is optimistic.

    Source
    ------
    CL = 1 - Σ (Np)^k·e^(-Np)/k!, k = 0..E; equivalently Np = ½·χ²(CL, 2E + 2). As two public
    calculators state it; a serial tester's user's guide, table 25, prints the values at 95 %.

    Example
    -------
    >>> round(bits_needed(1e-12) / 1e12, 3)
    2.996
    """
    _check(ratio=ratio, confidence=confidence)
    _check_errors(errors)
    return _mean_at(errors, confidence) / ratio


def seconds_needed(
    ratio: float, *, rate_bd: float, confidence: float = 0.95, errors: int = 0
) -> float:
    """Time on the line to check `bits_needed`.

    Parameters
    ----------
    ratio : float [-, above 0, below 1]
        Bit error ratio that is to be undercut.
    rate_bd : float [Bd, > 0]
        Line rate: 1.25e9 for gigabit Ethernet.
    confidence : float [-, above 0, below 1]
        0.95 is 95 %.
    errors : int [-, 0 to 1_000_000]
        Errors seen.

    Returns
    -------
    float [s]
        With every line bit checked.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    `bits_needed` / line rate.

    Example
    -------
    >>> round(seconds_needed(1e-12, rate_bd=1.25e9), 1)
    2396.6
    """
    if not (math.isfinite(rate_bd) and rate_bd > 0):
        raise InputError(f"a line rate of {rate_bd} Bd is none", hint="give it in Bd, above 0")
    return bits_needed(ratio, confidence=confidence, errors=errors) / rate_bd


def error_ratio_upper(errors: int, bits: float, *, confidence: float = 0.95) -> float:
    """The largest error ratio that still agrees with the errors counted.

    Parameters
    ----------
    errors : int [-, 0 to 1_000_000]
        Errors seen.
    bits : float [bit, > 0]
        Bits checked.
    confidence : float [-, above 0, below 1]
        One-sided: 0.95 leaves 5 % above.

    Returns
    -------
    float [-]
        May exceed 1 when far too few bits were checked; it then says nothing.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    ½·χ²(CL, 2E + 2)/N: Poisson, as `bits_needed`.

    Example
    -------
    >>> f"{error_ratio_upper(0, 3e12):.2e}"
    '9.99e-13'
    """
    _check(confidence=confidence)
    _check_errors(errors)
    return _mean_at(errors, confidence) / _bits(bits)


def error_ratio_lower(errors: int, bits: float, *, confidence: float = 0.95) -> float:
    """The smallest error ratio that still agrees with the errors counted.

    Parameters
    ----------
    errors : int [-, 0 to 1_000_000]
        Errors seen.
    bits : float [bit, > 0]
        Bits checked.
    confidence : float [-, above 0, below 1]
        One-sided: 0.95 leaves 5 % below.

    Returns
    -------
    float [-]
        0.0 for no errors.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    ½·χ²(1 - CL, 2E)/N: Poisson.

    Example
    -------
    >>> error_ratio_lower(0, 1e12)
    0.0
    """
    _check(confidence=confidence)
    _check_errors(errors)
    total = _bits(bits)
    return 0.0 if errors == 0 else _mean_at(errors - 1, 1 - confidence) / total


def confidence_level(errors: int, bits: float, *, ratio: float) -> float:
    """How sure it is that the true error ratio is below a figure.

    Parameters
    ----------
    errors : int [-, 0 to 1_000_000]
        Errors seen.
    bits : float [bit, > 0]
        Bits checked.
    ratio : float [-, above 0, below 1]
        The figure.

    Returns
    -------
    float [-, 0 to 1]
        Confidence.

    Raises
    ------
    InputError
        When a figure is out of range.

    Source
    ------
    CL = 1 - Σ (Np)^k·e^(-Np)/k!, k = 0..E.

    Example
    -------
    >>> round(confidence_level(0, 3e12, ratio=1e-12), 4)
    0.9502
    """
    _check(ratio=ratio)
    _check_errors(errors)
    return 1 - _poisson_upto(errors, _bits(bits) * ratio)


def _mean_at(errors: int, confidence: float) -> float:
    """The Poisson mean m at which `errors` or fewer come with probability 1 - confidence."""
    low, high = 0.0, errors + 10.0
    while _poisson_upto(errors, high) > 1 - confidence:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        if _poisson_upto(errors, middle) > 1 - confidence:
            low = middle
        else:
            high = middle
        if high - low <= 1e-13 * high:
            break
    return (low + high) / 2


def _poisson_upto(count: int, mean: float) -> float:
    """Probability of `count` or fewer events: the regularised upper gamma Q(count + 1, mean)."""
    if mean <= 0:
        return 1.0
    a = count + 1.0
    if mean < a + 1:
        return 1 - _lower_series(a, mean)
    return _upper_fraction(a, mean)


def _lower_series(a: float, x: float) -> float:
    """P(a, x) by DLMF 8.7.1: x^a e^-x Σ x^k / Γ(a + k + 1)."""
    term = total = 1 / a
    for k in range(1, _MOST_STEPS):
        term *= x / (a + k)
        total += term
        if term < total * 1e-17:
            break
    return total * math.exp(a * math.log(x) - x - math.lgamma(a))


def _upper_fraction(a: float, x: float) -> float:
    """Q(a, x) by the continued fraction DLMF 8.9.2, evaluated forward (modified Lentz)."""
    b = x + 1 - a
    c, d = 1e300, 1 / b
    h = d
    for k in range(1, _MOST_STEPS):
        numerator = -k * (k - a)
        b += 2
        d = 1 / (numerator * d + b)
        c = b + numerator / c
        h *= c * d
        if abs(c * d - 1) < 1e-16:
            break
    return h * math.exp(a * math.log(x) - x - math.lgamma(a))


def _check(**fractions: float) -> None:
    for name, value in fractions.items():
        if not 0 < value < 1:
            raise InputError(
                f"the {name} is {value}", hint="give a figure between 0 and 1, both excluded"
            )


def _check_errors(errors: int) -> None:
    if not 0 <= errors <= 1_000_000:
        raise InputError(f"{errors} errors cannot be judged", hint="give 0 to 1,000,000")


def _bits(bits: float) -> float:
    if not (math.isfinite(bits) and bits > 0):
        raise InputError(f"{bits} bits prove nothing", hint="give the bits checked, above 0")
    return bits
