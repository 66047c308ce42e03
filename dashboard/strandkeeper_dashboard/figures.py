"""Figures as a person reads them: number, true minus sign, unit. Never a number without a unit."""

from __future__ import annotations

import re
from datetime import UTC, datetime, tzinfo

from markupsafe import Markup

from strandkeeper.alerts import wording
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "age",
    "breakable",
    "clock",
    "day_and_clock",
    "db",
    "dbm",
    "number",
    "power",
    "reserve",
    "sentence",
    "size",
    "spare",
]

MINUS = "\N{MINUS SIGN}"
THIN = "\N{NARROW NO-BREAK SPACE}"
UNKNOWN = "not known"


def number(value: float, digits: int = 1) -> str:
    """`value` with a true minus sign; what rounds to zero has no sign."""
    text = f"{value:.{digits}f}"
    return text.lstrip("-") if float(text) == 0 else text.replace("-", MINUS)


def db(value: Db | None, *, signed: bool = False) -> str:
    """A ratio, to 0.1 dB."""
    if value is None:
        return UNKNOWN
    plus = "+" if signed and round(value.value, 1) > 0 else ""
    return f"{plus}{number(value.value)}{THIN}dB"


def dbm(value: Dbm | None) -> str:
    """A power, to 0.1 dBm."""
    return UNKNOWN if value is None else f"{number(value.value)}{THIN}dBm"


def power(value: Power) -> str:
    """A reported power: a figure, 'no light' or 'not reported'."""
    match value:
        case Measured(power=measured):
            return dbm(measured)
        case NoLight():
            return "no light"
        case _:
            return "not reported"


def spare(value: Db | None, *, anchored: bool) -> str:
    """What is to spare, rounded down as everywhere, its unit kept beside it."""
    if value is None:
        return UNKNOWN
    return wording.spare(value, anchored=anchored).replace(" ", THIN)


def reserve(value: Db) -> str:
    """What the owner keeps, as configured: '6 dB', '4.5 dB'."""
    return f"{value.value:g}{THIN}dB"


def age(then_ms: int | None, now_ms: int) -> str:
    """How long ago, in words; 'never' without a time."""
    if then_ms is None:
        return "never"
    return f"{wording.duration((now_ms - then_ms) / 1000)} ago"


def clock(time_ms: int, zone: tzinfo | None = None) -> str:
    """The time of day at the station, to the second."""
    return _local(time_ms, zone).strftime("%H:%M:%S")


def day_and_clock(time_ms: int, zone: tzinfo | None = None) -> str:
    """Day and time at the station: '3 Nov 2026 14:05'."""
    local = _local(time_ms, zone)
    return f"{local.day} {local.strftime('%b %Y %H:%M')}"


def sentence(text: str) -> str:
    """`text` with a capital first and a full stop last; nothing else of it is touched."""
    ended = text if text.endswith((".", "!", "?")) or not text else f"{text}."
    return ended[:1].upper() + ended[1:]


def size(count: int) -> str:
    """Bytes in words, decimal: '1.2 MB'."""
    value = float(count)
    for unit in ("bytes", "kB", "MB"):
        if value < 1000:
            return f"{value:.0f} {unit}" if unit != "MB" else f"{value:.1f} MB"
        value /= 1000
    return f"{value:.1f} GB"


def breakable(path: object) -> Markup:
    """A path or an address as markup that may be broken behind its separators."""
    return Markup("<wbr>").join(re.split(r"(?<=[/.-])(?=[^/])", str(path)))


def _local(time_ms: int, zone: tzinfo | None) -> datetime:
    return datetime.fromtimestamp(time_ms / 1000, UTC).astimezone(zone)
