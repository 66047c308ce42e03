"""Medians and robust spreads of integers, for lists too short for an array to pay."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["middle", "spread_of"]


def middle(values: Sequence[int]) -> int:
    """Median of integers, rounded down.

    Parameters
    ----------
    values : sequence of int
        At least one value [any unit].

    Returns
    -------
    int
        The median [same unit].

    Raises
    ------
    IndexError
        With no values.

    Source
    ------
    Definition.

    Example
    -------
    >>> middle([5, 1, 3])
    3
    """
    ordered = sorted(values)
    size = len(ordered)
    return (ordered[(size - 1) // 2] + ordered[size // 2]) // 2


def spread_of(values: Sequence[int]) -> int:
    """Robust standard deviation: 1.4826 times the median distance from the median.

    Parameters
    ----------
    values : sequence of int
        At least one value [any unit].

    Returns
    -------
    int
        The spread [same unit].

    Raises
    ------
    IndexError
        With no values.

    Source
    ------
    Hampel, J. Am. Stat. Assoc. 69 (1974) 383 (MAD; the factor makes it the standard deviation of
    normal noise); from memory, unconfirmed.

    Example
    -------
    >>> spread_of([0, 10, 20, 30, 40])
    15
    """
    centre = middle(values)
    return round(1.4826 * middle([abs(value - centre) for value in values]))
