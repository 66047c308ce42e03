"""When the weekly summary is due, and what it says of each link."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.alerts.quiet_hours import minute_of_day
from strandkeeper.alerts.wording_digest import weekly_message
from strandkeeper.alerts.wording_figures import counted, duration
from strandkeeper.alerts.wording_messages import Setting
from strandkeeper.model.message import Message
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["Week", "weekday"]

DAY_MS: Final = 86_400_000
_THURSDAY: Final = 3  # 1970-01-01 was one


def weekday(now_ms: int, offset_s: int) -> int:
    """The local day of the week, 0 Monday to 6 Sunday.

    >>> weekday(0, 0), weekday(0, -1)
    (3, 2)
    """
    return ((now_ms + offset_s * 1000) // DAY_MS + _THURSDAY) % 7


class Week:
    """Tells once a week, on its day from its time on; a start later that day still tells."""

    def __init__(self, settings: Settings, done_ms: int | None) -> None:
        self._settings = settings
        self._done_ms = done_ms

    def due(self, verdicts: Sequence[LinkVerdict], setting: Setting) -> Message | None:
        """The summary, if it is due now; it then counts as made."""
        if not self._is_due(setting):
            return None
        if not verdicts:
            return None
        self._done_ms = setting.now_ms
        by_link = {v.link: v for v in verdicts}
        counts = {v.link: _week_of(v, setting.now_ms) for v in verdicts}
        return weekly_message(self._settings.links, by_link, counts, setting)

    def _is_due(self, setting: Setting) -> bool:
        telling = self._settings.telling
        if telling.weekly_day is None or not any(t.weekly for t in telling.targets):
            return False
        if weekday(setting.now_ms, setting.offset_s) != telling.weekly_day:
            return False
        if minute_of_day(setting.now_ms, setting.offset_s) < telling.weekly_min:
            return False
        return self._done_ms is None or setting.now_ms - self._done_ms > DAY_MS


def _week_of(verdict: LinkVerdict, now_ms: int) -> str:
    """What happened in seven days, as one sentence."""
    begin = now_ms - 7 * DAY_MS
    outages = [o for o in verdict.outages if o.to_ms is None or o.to_ms >= begin]
    downs = max(verdict.downs_7d, len(outages))
    if not downs:
        return "In seven days it was never down."
    said = f"In seven days down {counted(downs, 'time')}"
    if not outages:
        return f"{said}, never for long."
    longest_ms = max((now_ms if o.to_ms is None else o.to_ms) - o.from_ms for o in outages)
    return f"{said}; the longest time {duration(longest_ms / 1000)}."
