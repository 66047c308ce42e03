"""What a person does, appended by dashboard or command line and applied by the daemon alone."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Entry", "EntryKind", "StoredEntry"]


class EntryKind(StrEnum):
    """Which act."""

    NOTE = "note"
    BASELINE = "baseline"
    ACKNOWLEDGE = "acknowledge"
    MUTE = "mute"
    LIVE = "live"
    REWORK_START = "rework-start"
    REWORK_FINISH = "rework-finish"
    METER = "meter"
    LEDGER = "ledger"
    COMMISSION = "commission"
    BACKUP = "backup"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One act as asked for; `payload` is plain JSON, its fields fixed by the kind."""

    kind: EntryKind
    who: str
    payload: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredEntry:
    """One act in the record: asked at `at_ms`, applied or refused by the daemon."""

    id: int
    entry: Entry
    at_ms: int
    applied_ms: int | None = None
    refusal: str = ""
