"""What is true of the watch itself, and of ends that fall silent without saying so."""

from __future__ import annotations

from collections.abc import Iterable

from strandkeeper.model.finding import (
    Cause,
    Confidence,
    Evidence,
    EvidenceKind,
    Finding,
    FindingKind,
    NextStep,
    Severity,
)
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NotReported
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["STATION", "ReadingsWatch", "clock_untrusted", "record_trouble", "watch_was_off"]

STATION = LinkName("")  # what is not about one link


class ReadingsWatch:
    """Tells ends that gave light readings and give none any more while their switch answers."""

    def __init__(self, silent_s: float) -> None:
        self._silent_ms = round(silent_s * 1000)
        self._read_ms: dict[tuple[LinkName, End], int] = {}

    def look(self, verdicts: Iterable[LinkVerdict], now_ms: int) -> list[Finding]:
        """The findings that are true now; an end that never gave a reading has none."""
        found = []
        for verdict in verdicts:
            for end in End:
                key = (verdict.link, end)
                if _gives_readings(verdict, end):
                    self._read_ms[key] = now_ms
                elif now_ms - self._read_ms.get(key, now_ms) >= self._silent_ms:
                    found.append(_no_readings(verdict.link, end, self._read_ms[key]))
        return found


def _gives_readings(verdict: LinkVerdict, end: End) -> bool:
    """A silent switch is told as such: its readings are as missing as everything else of it."""
    if verdict.end(end).answers is not True:
        return False
    return not isinstance(verdict.direction(Direction.seen_by(end)).rx, NotReported)


def _no_readings(link: LinkName, end: End, since_ms: int) -> Finding:
    return Finding(
        link=link,
        kind=FindingKind.NO_READINGS,
        severity=Severity.WARNING,
        since_ms=since_ms,
        end=end,
        alternatives=(Cause.MODULE, Cause.MODULE_REMOVED),
        next_steps=(NextStep.CHECK_SWITCH_NETWORK,),
    )


def watch_was_off(until_ms: int | None, now_ms: int, least_s: float) -> Finding | None:
    """The watch was off from the newest sign of it in the record until now."""
    if until_ms is None or now_ms - until_ms < least_s * 1000:
        return None
    lasted = Evidence(kind=EvidenceKind.DURATION, value=(now_ms - until_ms) / 1000)
    return Finding(
        link=STATION,
        kind=FindingKind.WATCH_WAS_OFF,
        severity=Severity.WARNING,
        since_ms=until_ms,
        evidence=(lasted,),
        next_steps=(NextStep.CHECK_NEAR_POWER,),
    )


def record_trouble(since_ms: int) -> Finding:
    """Readings wait in memory because the record cannot be written."""
    return Finding(
        link=STATION,
        kind=FindingKind.RECORD_TROUBLE,
        severity=Severity.URGENT,
        since_ms=since_ms,
        confidence=Confidence.CANNOT_TELL,
        next_steps=(NextStep.CHECK_DISK,),
    )


def clock_untrusted(since_ms: int) -> Finding:
    """The time of day is not known: rows are held under their epoch."""
    return Finding(
        link=STATION,
        kind=FindingKind.CLOCK_UNTRUSTED,
        severity=Severity.WARNING,
        since_ms=since_ms,
        next_steps=(NextStep.CHECK_CLOCK,),
    )
