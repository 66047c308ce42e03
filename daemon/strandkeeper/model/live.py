"""A link that somebody is looking at while working on it."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.names import LinkName

__all__ = ["LiveGrant", "LiveRequest"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveRequest:
    """Asked first at `since_ms`, renewed last at `renewed_ms` (record time); `wanted_s` a poll."""

    link: LinkName
    since_ms: int
    renewed_ms: int
    wanted_s: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveGrant:
    """How often a link is polled now for whoever looks at it, and why not more often.

    `refresh_s` is how often the slower of its switches renews its figures, None until found out.
    """

    link: LinkName
    since_ms: int
    until_ms: int
    interval_s: float
    refresh_s: float | None = None
    why: str = ""
