"""What a switch said by itself."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.names import SwitchName

__all__ = ["Trap", "TrapKind"]


class TrapKind(StrEnum):
    """The notifications that mean something here (RFC 3418, RFC 2863)."""

    COLD_START = "cold-start"
    WARM_START = "warm-start"
    LINK_DOWN = "link-down"
    LINK_UP = "link-up"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Trap:
    """One notification of a switch whose source and credentials were checked.

    `uptime_cs` is the switch's own clock when it was made (hundredths of a second); `if_index` the
    port it is about, None where it is about none.
    """

    switch: SwitchName
    kind: TrapKind
    uptime_cs: int | None = None
    if_index: int | None = None
