"""Which findings the owner must hear of, after how long, and when they count as over.

The analysis has holding and clearing times of its own for what it measures over windows; here are
those of what is true or not from one poll to the next. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Thresholds

__all__ = ["LASTING_S", "Rule", "is_told", "kinds_of_outage", "rule_of"]

LASTING_S: Final = 300  # an outage beyond it is told in quiet hours and never held back

_OUTAGE: Final = frozenset({FindingKind.LINK_DOWN, FindingKind.LIGHT_LOST})
_AT_ONCE: Final = frozenset({FindingKind.WATCH_WAS_OFF, FindingKind.MODULE_CHANGED})
_SLOW: Final = frozenset(
    {
        FindingKind.ADDED_LOSS,
        FindingKind.DRIFT,
        FindingKind.STEP,
        FindingKind.REPEATED_STEPS,
        FindingKind.FLICKER,
        FindingKind.DAILY_SWING,
        FindingKind.FREEZING,
        FindingKind.LASER_AGEING,
        FindingKind.FLAPPING,
        FindingKind.RESTARTS,
        FindingKind.ERRORS,
        FindingKind.FROZEN_FIGURE,
    }
)
_SLOW_CLEAR_S: Final = 1800
_LEVEL_HOLD_S: Final = 120
_LEVEL: Final = frozenset(
    {
        FindingKind.MARGIN_LOW,
        FindingKind.OVERLOAD,
        FindingKind.TEMPERATURE,
        FindingKind.SUPPLY,
        FindingKind.TRANSMIT_LOW,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """True for `hold_s` before it is told; not true for `clear_s` before it is over.

    `ends` False: it is a moment, whose end nobody needs to hear of.
    """

    hold_s: int
    clear_s: int
    ends: bool = True


def is_told(finding: Finding) -> bool:
    """Notes are kept in the record; warnings and what is urgent are told."""
    return finding.severity >= Severity.WARNING


def kinds_of_outage() -> frozenset[FindingKind]:
    """What is down now; it may be damped when it flaps, and it has a 'lasting'."""
    return _OUTAGE


def rule_of(kind: FindingKind, thresholds: Thresholds) -> Rule:
    """The times of one kind.

    >>> rule_of(FindingKind.LINK_DOWN, Thresholds())
    Rule(hold_s=60, clear_s=600, ends=True)
    """
    if kind in _OUTAGE:
        return Rule(hold_s=thresholds.link_down_tell_s, clear_s=thresholds.clear_steady_s)
    if kind in _AT_ONCE:
        return Rule(hold_s=0, clear_s=0, ends=False)
    if kind in _SLOW:
        return Rule(hold_s=0, clear_s=_SLOW_CLEAR_S)
    if kind in _LEVEL:
        return Rule(hold_s=_LEVEL_HOLD_S, clear_s=max(_SLOW_CLEAR_S, thresholds.clear_steady_s))
    return Rule(hold_s=0, clear_s=thresholds.clear_steady_s)
