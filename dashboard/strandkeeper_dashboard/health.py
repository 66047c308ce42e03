"""How a link stands, in four words, and whether the figures are fresh enough to say so. Pure."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from strandkeeper.model.finding import Severity
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import LinkVerdict

__all__ = [
    "Standing",
    "reading_stale_after_ms",
    "record_stale_after_ms",
    "standing",
]


class Standing(StrEnum):
    """The state of a link on screen; the template adds word and mark, never colour alone."""

    ACT = "act"
    WATCH = "watch"
    UNKNOWN = "unknown"
    WELL = "well"


ORDER: Final = (Standing.ACT, Standing.WATCH, Standing.UNKNOWN, Standing.WELL)


def record_stale_after_ms(settings: Settings) -> int:
    """After how long without a new verdict the record counts as standing still, in ms.

    Three batches and two polls: one late commit is not a fault. Own design, no source.
    """
    return round(1000 * (3 * settings.store.batch_s + 2 * settings.intervals.status_s))


def reading_stale_after_ms(settings: Settings) -> int:
    """After how long a light reading is marked as old, in ms: three optics polls and a batch."""
    return round(1000 * (3 * settings.intervals.optics_s + settings.store.batch_s))


def standing(verdict: LinkVerdict | None, now_ms: int, stale_after_ms: int) -> Standing:
    """The state of one link now. Old news may still be bad news, but never good news."""
    if verdict is None:
        return Standing.UNKNOWN
    worst = max((finding.severity for finding in verdict.findings), default=Severity.NOTE)
    if worst is Severity.URGENT:
        return Standing.ACT
    if worst is Severity.WARNING or verdict.up is False:
        return Standing.WATCH
    stale = now_ms - verdict.at_ms > stale_after_ms
    return Standing.UNKNOWN if stale or verdict.up is None else Standing.WELL
