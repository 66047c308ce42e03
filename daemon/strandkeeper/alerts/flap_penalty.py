"""How long notifications of a flapping link are held back: the figure of merit of RFC 2439.

It damps what is told, never what is recorded. Each time the link goes down adds 1; the figure
halves in every half-life; from `cut` on notifications are held back, below `reuse` they go again.

Source: RFC 2439, sections 4.2 to 4.5 and 4.8.1. The ceiling printed there in 4.2,
`reuse * (exp(T-hold/decay-half-life) * log(2))`, is mis-parenthesised: only
reuse * 2^(T-hold/half-life) gives the 4.0 with which its own figure 3 is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

__all__ = [
    "Damping",
    "Penalty",
    "came_up",
    "ceiling",
    "decay",
    "merit_at",
    "penalty_of",
    "released_in_s",
    "seen_at",
    "went_down",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Damping:
    """The constants, by the names of RFC 2439 section 4.2 in brackets.

    `half_life_down_s` None: no decay while down (decay-ng unset). The defaults are mild: common
    practice, no source; the RFC's own sample is in the tests.
    """

    cut: float = 3.0  # cutoff threshold (cut)
    reuse: float = 1.0  # reuse threshold (reuse)
    hold_s: float = 3600.0  # maximum hold time (T-hold)
    half_life_up_s: float = 900.0  # decay half life while reachable (decay-ok)
    half_life_down_s: float | None = 900.0  # decay half life while unreachable (decay-ng)


@dataclass(frozen=True, slots=True, kw_only=True)
class Penalty:
    """The figure of merit as it was at `at_ms`, and whether notifications are held back."""

    merit: float = 0.0
    at_ms: int = 0
    up: bool = True
    held_back: bool = False


def decay(half_life_s: float | None, seconds: float) -> float:
    """What is left of 1 after so long: 2^(-t/half-life); 1 where nothing decays.

    >>> round(decay(300, 1), 9), round(decay(900, 1), 9)
    (0.997692177, 0.999230133)
    """
    return 1.0 if not half_life_s else 2.0 ** (-seconds / half_life_s)


def ceiling(damping: Damping) -> float:
    """The highest figure: from it the decay down to `reuse` takes `hold_s`.

    >>> ceiling(Damping(cut=1.25, reuse=0.5, hold_s=900, half_life_up_s=300))
    4.0
    """
    return damping.reuse / decay(damping.half_life_up_s, damping.hold_s)


def merit_at(damping: Damping, penalty: Penalty, now_ms: int) -> float:
    """The figure of merit, decayed to `now_ms`."""
    half_life = damping.half_life_up_s if penalty.up else damping.half_life_down_s
    return penalty.merit * decay(half_life, max(0, now_ms - penalty.at_ms) / 1000)


def seen_at(damping: Damping, penalty: Penalty, now_ms: int) -> Penalty:
    """The same at a later time: decayed, and released if it fell below `reuse`."""
    merit = merit_at(damping, penalty, now_ms)
    return replace(
        penalty,
        merit=merit,
        at_ms=max(now_ms, penalty.at_ms),
        held_back=penalty.held_back and merit >= damping.reuse,
    )


def went_down(damping: Damping, penalty: Penalty, at_ms: int) -> Penalty:
    """Decay at the rate of being up, add 1, clip (RFC 2439, 4.8.2)."""
    now = seen_at(damping, penalty, at_ms)
    merit = min(now.merit + 1.0, ceiling(damping))
    return replace(now, merit=merit, up=False, held_back=now.held_back or merit >= damping.cut)


def came_up(damping: Damping, penalty: Penalty, at_ms: int) -> Penalty:
    """Decay at the rate of being down; nothing is added (RFC 2439, 4.8.3)."""
    return replace(seen_at(damping, penalty, at_ms), up=True)


def penalty_of(damping: Damping, flaps: Iterable[tuple[int, int | None]], now_ms: int) -> Penalty:
    """The penalty that times down [ms] leave at `now_ms`; an end None: down still."""
    penalty = Penalty()
    for from_ms, to_ms in sorted(flaps, key=lambda flap: flap[0]):
        if from_ms > now_ms:
            break
        penalty = went_down(damping, penalty, from_ms)
        if to_ms is not None and to_ms <= now_ms:
            penalty = came_up(damping, penalty, to_ms)
    return seen_at(damping, penalty, now_ms)


def released_in_s(damping: Damping, penalty: Penalty) -> float | None:
    """How long it must stay calm until notifications go again; 0 if they do, None if never so."""
    if not penalty.held_back:
        return 0.0
    half_life = damping.half_life_up_s if penalty.up else damping.half_life_down_s
    if not half_life:
        return None
    left = _log2(penalty.merit / damping.reuse) * half_life
    return min(max(0.0, left), damping.hold_s)


def _log2(ratio: float) -> float:
    return 0.0 if ratio <= 1 else math.log2(ratio)
