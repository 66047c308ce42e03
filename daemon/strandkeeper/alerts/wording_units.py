"""The owner's units: sentences are made in °C and metres, and turned where they go out.

1 ft is 0.3048 m exactly (international foot); °F = 9/5·°C + 32, a difference 9/5.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from strandkeeper.alerts.wording_figures import number

__all__ = ["Units", "in_units"]

_MINUS: Final = "\N{MINUS SIGN}"
_FIGURE: Final = rf"(?<![\w.])({_MINUS}?\d+(?:\.\d+)?)"
_PER_DEGREE: Final = re.compile(rf"{_FIGURE} dB(?:/| per | a )°C")
_DEGREES: Final = re.compile(rf"{_FIGURE} °C")
_METRES: Final = re.compile(rf"{_FIGURE} m(?![\w²/])")


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """What the owner reads."""

    feet: bool = False
    fahrenheit: bool = False


def in_units(text: str, units: Units) -> str:
    """The text with its temperatures and lengths in the owner's units.

    >>> in_units("at 71 °C, over 900 m", Units(feet=True, fahrenheit=True))
    'at 160 °F, over 2953 ft'
    >>> in_units("at 71 °C", Units())
    'at 71 °C'
    """
    if units.fahrenheit:
        text = _PER_DEGREE.sub(_turned("dB per °F", lambda v: v * 5 / 9), text)
        text = _DEGREES.sub(_turned("°F", lambda v: v * 9 / 5 + 32), text)
    if units.feet:
        text = _METRES.sub(_turned("ft", lambda v: v / 0.3048), text)
    return text


def _turned(unit: str, convert: Callable[[float], float]) -> Callable[[re.Match[str]], str]:
    def turn(match: re.Match[str]) -> str:
        said = match[1].replace(_MINUS, "-")
        digits = len(said.partition(".")[2])
        return f"{number(convert(float(said)), digits)} {unit}"

    return turn
