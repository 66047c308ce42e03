"""Figures as a person reads them: number, true minus sign, unit. Never a number without a unit."""

from __future__ import annotations

import math
from datetime import UTC, datetime, tzinfo

from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "age",
    "clock",
    "day_and_clock",
    "db",
    "dbm",
    "duration",
    "iso",
    "number",
    "power",
    "reserve",
    "size",
    "spare",
    "spare_number",
]

MINUS = "\N{MINUS SIGN}"
THIN = "\N{NARROW NO-BREAK SPACE}"
UNKNOWN = "not known"


def number(value: float, digits: int = 1) -> str:
    """`value` with a true minus sign; what rounds to zero has no sign."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        return text.lstrip("-")
    return text.replace("-", MINUS)


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


def spare_number(value: Db, *, anchored: bool) -> str:
    """What is to spare without its unit: rounded down, so that it never says more than there is.

    Whole dB, because a reading is good to ±3 dB; 0.1 dB where a meter reading anchors it.
    """
    scale = 10 if anchored else 1
    down = math.floor(value.value * scale + 1e-9) / scale
    return number(down, 1 if anchored else 0)


def spare(value: Db | None, *, anchored: bool) -> str:
    """What is to spare, with its unit."""
    return UNKNOWN if value is None else f"{spare_number(value, anchored=anchored)}{THIN}dB"


def reserve(value: Db) -> str:
    """What the owner keeps, as configured: '6 dB', '4.5 dB'."""
    return f"{value.value:g}{THIN}dB"


_SPANS = ((86400, "day", "days"), (3600, "hour", "hours"), (60, "minute", "minutes"))


def duration(seconds: float) -> str:
    """A span in its largest two units that matter: '3 days 4 hours', '12 minutes', '40 seconds'."""
    left = max(0, round(seconds))
    words = []
    for span, one, many in _SPANS:
        count, left = divmod(left, span)
        if count:
            words.append(f"{count} {one if count == 1 else many}")
    if not words:
        return f"{left} second{'' if left == 1 else 's'}"
    return " ".join(words[:2]) if words[0].split()[1].startswith(("day", "hour")) else words[0]


def age(then_ms: int | None, now_ms: int) -> str:
    """How long ago, in words; 'never' without a time."""
    if then_ms is None:
        return "never"
    return f"{duration((now_ms - then_ms) / 1000)} ago"


def clock(time_ms: int, zone: tzinfo | None = None) -> str:
    """The time of day at the station, to the second."""
    return _local(time_ms, zone).strftime("%H:%M:%S")


def day_and_clock(time_ms: int, zone: tzinfo | None = None) -> str:
    """Day and time at the station: '3 Nov 2026 14:05'."""
    local = _local(time_ms, zone)
    return f"{local.day} {local.strftime('%b %Y %H:%M')}"


def iso(time_ms: int) -> str:
    """UTC for machines, ISO 8601."""
    return datetime.fromtimestamp(time_ms / 1000, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def size(count: int) -> str:
    """Bytes in words, decimal: '1.2 MB'."""
    value = float(count)
    for unit in ("bytes", "kB", "MB"):
        if value < 1000:
            return f"{value:.0f} {unit}" if unit != "MB" else f"{value:.1f} MB"
        value /= 1000
    return f"{value:.1f} GB"


def _local(time_ms: int, zone: tzinfo | None) -> datetime:
    return datetime.fromtimestamp(time_ms / 1000, UTC).astimezone(zone)
