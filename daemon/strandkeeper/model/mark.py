"""What a person does that the analysis must know of, on the record's own time axis."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.names import Direction

__all__ = ["Mark", "MarkKind"]


class MarkKind(StrEnum):
    """Which act."""

    BASELINE = "baseline"
    REWORK_FINISH = "rework-finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One act; `direction` None: both."""

    time_ms: int
    kind: MarkKind
    direction: Direction | None = None
