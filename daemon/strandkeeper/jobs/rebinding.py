"""When a switch is walked again: at once at first, ever more rarely if nothing comes of it.

Some agents say on every poll that their tables changed; walking them every time would load them
for nothing.
"""

from __future__ import annotations

from enum import Enum

__all__ = ["RebindReason", "RebindTimes"]

_FIRST_WAIT_S = 30.0
_LONGEST_WAIT_S = 1800.0
_DAY_S = 86_400.0


class RebindReason(Enum):
    """Why to walk again."""

    RESTART = "restart"
    NAMES = "a port's name no longer fits"
    TABLE = "the interface table changed"
    ENTITIES = "the entity table changed"
    MODULE = "a module came, went or changed"
    PORT = "a port without light readings changed its state"
    MISSING = "a configured port is missing"
    UNREAD = "the light readings could not be looked for at the last walk"
    DAILY = "a day has passed"


_ALWAYS = frozenset({RebindReason.RESTART, RebindReason.NAMES})


class RebindTimes:
    """Remembers what came of walking again. All times are monotonic seconds given by the caller."""

    def __init__(self) -> None:
        self._bound_s = 0.0
        self._wait_s: dict[RebindReason, float] = {}
        self._not_before_s: dict[RebindReason, float] = {}

    def allowed(self, reason: RebindReason, now_s: float) -> bool:
        """Whether this reason may cause a walk now."""
        if reason is RebindReason.DAILY:
            return now_s - self._bound_s >= _DAY_S
        return reason in _ALWAYS or now_s >= self._not_before_s.get(reason, 0.0)

    def bound(self, reasons: frozenset[RebindReason], now_s: float, *, changed: bool) -> None:
        """The switch was walked for these reasons; `changed`: the ties are not what they were."""
        self._bound_s = now_s
        for reason in reasons:
            wait_s = _FIRST_WAIT_S if changed else self._wait_s.get(reason, _FIRST_WAIT_S / 2) * 2
            self._wait_s[reason] = min(_LONGEST_WAIT_S, wait_s)
            self._not_before_s[reason] = now_s + self._wait_s[reason]
