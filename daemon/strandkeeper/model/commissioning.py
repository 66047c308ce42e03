"""The checklist of a new link: what must be in order before it is handed over."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.names import Direction, End
from strandkeeper.model.rework import Outcome

__all__ = ["ListItem", "ListKind"]


class ListKind(StrEnum):
    """One line of the checklist."""

    ANSWERS = "answers"
    MODULE = "module"
    LIGHT = "light"
    CROSSED = "crossed"
    UP = "up"
    OVERLOAD = "overload"
    MARGIN = "margin"
    LOSS = "loss"
    ERRORS = "errors"


@dataclass(frozen=True, slots=True, kw_only=True)
class ListItem:
    """How a line stands. `got` and `limit` are dB, or frames for ERRORS."""

    kind: ListKind
    outcome: Outcome
    end: End | None = None
    direction: Direction | None = None
    got: float | None = None
    limit: float | None = None
