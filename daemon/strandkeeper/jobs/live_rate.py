"""How often a link is polled while somebody looks at it: a pure decision.

A request is renewed every 10 s, void after 30 s without, and ends by itself after 30 min.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.model.live import LiveGrant, LiveRequest
from strandkeeper.model.names import LinkName

__all__ = ["grant", "is_alive", "poll_interval", "renewed"]

FASTEST_S: Final = 1.0
SLOWEST_S: Final = 5.0
VOID_MS: Final = 30_000
LONGEST_MS: Final = 30 * 60_000
FINDING_OUT_MS: Final = 20_000
AGAIN_MS: Final = 60_000


def is_alive(request: LiveRequest, now_ms: int) -> bool:
    """Whether somebody still looks."""
    fresh = now_ms - request.renewed_ms < VOID_MS
    return fresh and now_ms - request.since_ms < LONGEST_MS


def poll_interval(
    requests: Sequence[LiveRequest], learned_refresh: float | None, now_ms: int
) -> float | None:
    """Seconds between polls for whoever looks, None when nobody does.

    At first once a second, to find out how often the switch renews its figures; then twice within
    each renewal (asking as often as it renews would miss every other one), never slower than 5 s.
    """
    alive = [r for r in requests if is_alive(r, now_ms)]
    if not alive:
        return None
    wanted = max(FASTEST_S, min(r.wanted_s for r in alive))
    finding_out = now_ms - min(r.since_ms for r in alive) < FINDING_OUT_MS
    if learned_refresh is None or finding_out:
        return wanted
    return min(SLOWEST_S, max(wanted, learned_refresh / 2))


def renewed(
    before: LiveRequest | None, link: LinkName, wanted_s: float, now_ms: int
) -> LiveRequest | str:
    """The request after it was asked for at `now_ms`, or why not: half an hour is over.

    A pause of a minute makes it a new one.
    """
    if before is None or now_ms - before.renewed_ms >= AGAIN_MS:
        return LiveRequest(link=link, since_ms=now_ms, renewed_ms=now_ms, wanted_s=wanted_s)
    if now_ms - before.since_ms >= LONGEST_MS:
        return "the live view ends after half an hour; wait a minute and start it again"
    return LiveRequest(link=link, since_ms=before.since_ms, renewed_ms=now_ms, wanted_s=wanted_s)


def grant(request: LiveRequest, refresh_s: float | None, now_ms: int) -> LiveGrant | None:
    """What is granted to a request now; None: it is over."""
    interval = poll_interval([request], refresh_s, now_ms)
    if interval is None:
        return None
    finding_out = now_ms - request.since_ms < FINDING_OUT_MS
    slowed = interval > max(FASTEST_S, request.wanted_s)
    why = "finding out how often the switch renews its figures" if finding_out else ""
    if slowed:
        why = "the switch renews its figures no more often"
    return LiveGrant(
        link=request.link,
        since_ms=request.since_ms,
        until_ms=min(request.renewed_ms + VOID_MS, request.since_ms + LONGEST_MS),
        interval_s=interval,
        refresh_s=None if finding_out else refresh_s,
        why=why,
    )
