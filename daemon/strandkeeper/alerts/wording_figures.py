"""Figures as a sentence says them: rounded to what they are worth, with a true minus sign."""

from __future__ import annotations

import math
from typing import Final

from strandkeeper.model.verdict import Interval
from strandkeeper.optics.units import Db, Dbm

__all__ = ["counted", "db", "dbm", "duration", "number", "per_year", "plain_number", "spare"]

_MINUS: Final = "\N{MINUS SIGN}"
_SPANS: Final = ((86400, "day"), (3600, "hour"), (60, "minute"))


def number(value: float, digits: int = 1) -> str:
    """A figure with a true minus sign; what rounds to zero has none.

    >>> number(-11.26), number(-0.04), number(3.0, 0)
    ('−11.3', '0.0', '3')
    """
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", _MINUS)


def plain_number(value: float) -> str:
    """A count or a measured figure without needless digits: 23, 1 250, 3.25.

    >>> plain_number(23.0), plain_number(1250), plain_number(3.25)
    ('23', '1250', '3.25')
    """
    return number(value, 0) if value == round(value) else f"{value:.3g}".replace("-", _MINUS)


def db(value: float) -> str:
    """A loss or a change, to 0.1 dB."""
    return f"{number(value)} dB"


def dbm(value: Dbm | float) -> str:
    """A power, to 0.1 dBm."""
    return f"{number(value.value if isinstance(value, Dbm) else value)} dBm"


def spare(value: Db | float, *, anchored: bool = False) -> str:
    """What is to spare, rounded down: whole dB, 0.1 dB where a meter reading anchors it.

    >>> spare(8.97), spare(Db(8.97), anchored=True), spare(-0.2)
    ('8 dB', '8.9 dB', '−1 dB')
    """
    amount = value.value if isinstance(value, Db) else value
    scale = 10 if anchored else 1
    down = math.floor(amount * scale + 1e-9) / scale
    return f"{number(down, 1 if anchored else 0)} dB"


def per_year(slope: Interval | float) -> str:
    """A slope [dB/month of 30.44 days] in the words of a year.

    >>> per_year(0.08), per_year(-0.25)
    ('about 1 dB a year', 'about 3 dB a year')
    >>> per_year(0.02), per_year(0.045)
    ('less than half a dB a year', 'about half a dB a year')
    """
    yearly = abs(slope.value if isinstance(slope, Interval) else slope) * 12
    if yearly < 0.4:
        return "less than half a dB a year"
    return "about half a dB a year" if yearly < 0.75 else f"about {yearly:.0f} dB a year"


def duration(seconds: float) -> str:
    """A span in words, one unit, two where days or hours come first.

    >>> duration(40), duration(60), duration(5400), duration(90000)
    ('40 seconds', '1 minute', '1 hour 30 minutes', '1 day 1 hour')
    """
    left = max(0, round(seconds))
    words: list[str] = []
    for span, name in _SPANS:
        count, left = divmod(left, span)
        if count:
            words.append(counted(count, name))
        if len(words) == 2 or (words and name == "minute"):
            break
    return " ".join(words) if words else counted(left, "second")


def counted(count: float, one: str, many: str = "") -> str:
    """`1 flap`, `3 flaps`.

    >>> counted(1, "switch", "switches"), counted(0, "flap")
    ('1 switch', '0 flaps')
    """
    return f"{plain_number(count)} {one if count == 1 else many or f'{one}s'}"
