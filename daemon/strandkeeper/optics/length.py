"""Lengths as people write them."""

from __future__ import annotations

import re
from typing import Final

from strandkeeper.errors import InputError

__all__ = ["length_m"]

# metres in one; the international foot and mile are exact since 1959
_METRES: Final = {
    "mm": 0.001,
    "cm": 0.01,
    "m": 1.0,
    "km": 1000.0,
    "in": 0.0254,
    "ft": 0.3048,
    "yd": 0.9144,
    "mi": 1609.344,
}
_WORDS: Final = {
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "inch": "in",
    "inches": "in",
    "foot": "ft",
    "feet": "ft",
    "yard": "yd",
    "yards": "yd",
    "mile": "mi",
    "miles": "mi",
}


def length_m(text: str) -> float:
    """A length in metres from a figure with its unit.

    Parameters
    ----------
    text : str [mm, cm, m, km, in, ft, yd or mi]
        Such as '900 m', '0.9km', '3000 ft'. Decimal point or comma; 1_000 and 1'000 are refused.

    Returns
    -------
    float [m, >= 0]
        Finite.

    Raises
    ------
    InputError
        When there is no figure, no unit, or one not known: nothing is guessed.

    Source
    ------
    International yard and pound agreement, 1959: 1 ft = 0.3048 m exactly.

    Example
    -------
    >>> length_m("3000 ft")
    914.4
    """
    match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*([A-Za-z]*)\s*", text)
    if match is None:
        raise InputError(f"{text!r} is no length", hint="write it as 900m, 0.9km or 3000ft")
    unit = _WORDS.get(match[2].lower(), match[2].lower())
    if unit not in _METRES:
        named = f"the unit {match[2]!r} is not known" if unit else "the unit is missing"
        raise InputError(
            f"the length {text!r} is not clear: {named}",
            hint=f"units: {', '.join(_METRES)}; for example {match[1]}m",
        )
    return round(float(match[1].replace(",", ".")) * _METRES[unit], 9)
