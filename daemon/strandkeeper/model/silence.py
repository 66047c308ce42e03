"""A link of which nothing is told for a time."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.names import LinkName

__all__ = ["Silence"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Silence:
    """Times are record time [ms]; `why` is `mute`, `rework`, or `rework-finished`; `who` asked."""

    link: LinkName
    from_ms: int
    until_ms: int
    who: str
    why: str = "mute"
