"""How far a link is from being calm: its flap penalty, and the counts that no decay forgets."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.alerts.flap_penalty import Damping, Penalty, penalty_of, released_in_s
from strandkeeper.model.link import Thresholds
from strandkeeper.model.verdict import LinkVerdict

__all__ = ["Calm", "calm_of", "damping_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calm:
    """`released_in_s`: how long it must stay calm until alerts go again; None: never so.

    The counts are of times down, however long each was.
    """

    penalty: Penalty
    released_in_s: float | None
    downs_24h: int
    downs_14d: int


def damping_of(thresholds: Thresholds) -> Damping:
    """The constants as configured; up or down, the penalty decays alike."""
    half_life_s = float(thresholds.flap_half_life_s)
    return Damping(
        cut=thresholds.flap_hold_back,
        reuse=thresholds.flap_release,
        hold_s=float(thresholds.flap_hold_most_s),
        half_life_up_s=half_life_s,
        half_life_down_s=half_life_s,
    )


def calm_of(verdict: LinkVerdict, thresholds: Thresholds, now_ms: int) -> Calm:
    """The flap penalty of a link now, and its plain counts up to the verdict's newest row.

    The verdict lists the newest times down alone; what it no longer lists has long decayed, or is
    beyond the ceiling of the penalty. The counts are not cut short by that.
    """
    damping = damping_of(thresholds)
    penalty = penalty_of(damping, _times_down(verdict), now_ms)
    return Calm(
        penalty=penalty,
        released_in_s=released_in_s(damping, penalty),
        downs_24h=verdict.downs_24h,
        downs_14d=verdict.downs_14d,
    )


def _times_down(verdict: LinkVerdict) -> list[tuple[int, int | None]]:
    downs: list[tuple[int, int | None]] = [(f.from_ms, f.to_ms) for f in verdict.flaps]
    return [*downs, *((o.from_ms, o.to_ms) for o in verdict.outages)]
