"""What a person typed into a form, as figures; a refusal says which field and what to write. Pure.

An empty field is None everywhere: not known, and never taken for 0.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime

from strandkeeper.errors import InputError
from strandkeeper.model.times import iso_utc
from strandkeeper.optics.length import length_m

__all__ = ["day_text", "figure", "length", "length_text", "moment", "whole"]

_FOOT_M = 0.3048  # exactly, since 1959


def figure(text: str, what: str, unit: str) -> float | None:
    """A number with point or comma and with either minus sign. Raises InputError."""
    if not text:
        return None
    plain = text.replace("\N{MINUS SIGN}", "-").replace(",", ".").removesuffix(unit).strip()
    try:
        value = float(plain)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{what} is {text!r}", hint=f"write it in {unit}, such as -11.3")
    return value


def whole(text: str, what: str, *, least: int = 0, most: int = 9999) -> int | None:
    """A whole number. Raises InputError."""
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 9 and least <= int(text) <= most):
        raise InputError(f"{what} is {text!r}", hint=f"write a whole number from {least} to {most}")
    return int(text)


def length(text: str, what: str, *, feet: bool) -> float | None:
    """Metres of '1.5 m', '5 ft', or of a bare number in the owner's unit. Raises InputError.

    >>> length("1,5", "slack", feet=False), length("10", "slack", feet=True)
    (1.5, 3.048)
    """
    if not text:
        return None
    unit = ("ft" if feet else "m") if text.replace(".", "").replace(",", "").isdigit() else ""
    try:
        return length_m(f"{text}{unit}")
    except InputError as error:
        raise InputError(f"{what}: {error.message}", hint=error.hint) from error


def length_text(value_m: float | None, *, feet: bool) -> str:
    """The same back, empty where it is not known."""
    if value_m is None:
        return ""
    return f"{value_m / _FOOT_M:.4g} ft" if feet else f"{value_m:g} m"


def moment(text: str, what: str, now_ms: int) -> str | None:
    """A day, or a day and time, at the station, as a record's time. Raises InputError.

    A day alone is its noon; what is still to come is refused, today's noon is not.
    """
    if not text:
        return None
    try:
        local = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"{what} is {text!r}", hint="write it like 2026-03-01 14:05") from error
    if len(text) == 10:
        local = local.replace(hour=12)
    time_ms = round(local.astimezone(UTC).timestamp() * 1000)
    today = len(text) == 10 and text == day_text(now_ms)
    if time_ms > now_ms + 60_000 and not today:
        raise InputError(f"{what} is {text}, which is still to come", hint="say when it was")
    return iso_utc(min(time_ms, now_ms))


def day_text(time_ms: int | None) -> str:
    """The day at the station as a date field has it, empty without a time."""
    if time_ms is None:
        return ""
    return datetime.fromtimestamp(time_ms / 1000, UTC).astimezone().strftime("%Y-%m-%d")
