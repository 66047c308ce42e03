"""What is true of the watch itself, and of ends that fall silent without saying so."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

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
from strandkeeper.store.last_light import LastLight

__all__ = ["STATION", "ReadingsWatch", "clock_untrusted", "record_trouble", "watch_was_off"]

STATION = LinkName("")  # what is not about one link
MOST_PASSED_MS: Final = 60_000  # two looks are a second apart; more is a clock that was set


@dataclass(frozen=True, slots=True)
class _Light:
    read_ms: int
    missing_ms: int


class ReadingsWatch:
    """Tells ends that gave light readings and give none any more while their switch answers.

    Counted is the time in which the switch answered and gave none: what it was silent, or nobody
    watched, is not its fault. `known` is what the record says of the time before the start.
    """

    def __init__(
        self, silent_s: float, known: Mapping[tuple[LinkName, End], LastLight] | None = None
    ) -> None:
        self._silent_ms = round(silent_s * 1000)
        self._known = {
            where: _Light(light.read_ms, max(0, light.heard_ms - light.read_ms))
            for where, light in (known or {}).items()
        }
        self._looked_ms: int | None = None

    def look(self, verdicts: Iterable[LinkVerdict], now_ms: int) -> list[Finding]:
        """The findings that are true now; an end that never gave a reading has none."""
        since = 0 if self._looked_ms is None else now_ms - self._looked_ms
        passed_ms, self._looked_ms = min(max(0, since), MOST_PASSED_MS), now_ms
        found = []
        for verdict in verdicts:
            for end in End:
                light = self._light(verdict, end, passed_ms)
                if light is not None and light.missing_ms >= self._silent_ms:
                    found.append(_no_readings(verdict.link, end, light.read_ms))
        return found

    def _light(self, verdict: LinkVerdict, end: End, passed_ms: int) -> _Light | None:
        """What is known of the light of an end that answers now, else None."""
        where = (verdict.link, end)
        known, read_ms = self._known.get(where), _read_ms(verdict, end)
        if read_ms is not None and (known is None or read_ms > known.read_ms):
            known = self._known[where] = _Light(read_ms, 0)
        elif known is not None and verdict.end(end).answers:
            known = self._known[where] = _Light(known.read_ms, known.missing_ms + passed_ms)
        return known if verdict.end(end).answers else None


def _read_ms(verdict: LinkVerdict, end: End) -> int | None:
    """When the newest light reading of an end was taken; None: what it gave last was none."""
    direction = verdict.direction(Direction.seen_by(end))
    return None if isinstance(direction.rx, NotReported) else direction.optics_ms


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
