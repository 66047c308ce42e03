"""What the owner must hear of: an alert, its states, and the steps between them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.finding import Finding, Severity

__all__ = ["Alert", "AlertEvent", "AlertKey", "AlertState", "Transition"]

AlertKey = tuple[str, str, str, str]  # Finding.key: link, direction or "", end or "", kind


class AlertState(StrEnum):
    """Where an alert stands; alerts/lifecycle has the table of the ways between."""

    PENDING = "pending"
    FIRING = "firing"
    ACKNOWLEDGED = "acknowledged"
    MUTED = "muted"
    CLEARED = "cleared"


class AlertEvent(StrEnum):
    """What moves an alert."""

    SEEN = "seen"  # the finding is true
    GONE = "gone"  # it was no longer true before it had to be told
    HELD = "held"  # it has been true for its holding time
    WORSE = "worse"  # its severity rose
    LASTED = "lasted"  # an outage has gone on for longer than a short one
    STEADY = "steady"  # it has not been true for its clearing time
    ACKNOWLEDGE = "acknowledge"  # a person has seen it
    MUTE = "mute"  # a person, or open work on the link, wants no more of it for a time
    MUTE_OVER = "mute-over"  # that time is over


@dataclass(frozen=True, slots=True, kw_only=True)
class Alert:
    """One alert from its first sight to its end; all times are record time [ms].

    `finding` is the newest sight of what it is about. `held_from_ms` is when its holding time
    began; `quiet_ms` since when the finding has not been true, None while it is. `told` counts the
    times that it was told, at most at `told_severity`. `until_ms` ends a mute; `who` acknowledged
    or muted it last.
    """

    number: int
    finding: Finding
    state: AlertState
    began_ms: int
    changed_ms: int
    held_from_ms: int
    quiet_ms: int | None = None
    told: int = 0
    told_severity: Severity | None = None
    lasting: bool = False
    until_ms: int | None = None
    who: str = ""

    @property
    def key(self) -> AlertKey:
        """Which alert it is."""
        return self.finding.key


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """One step of an alert; `before` None: it is new."""

    alert: int
    at_ms: int
    before: AlertState | None
    event: AlertEvent
    after: AlertState
    who: str = ""
