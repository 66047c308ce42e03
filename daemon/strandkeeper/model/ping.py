"""Pings across a link: small and large ones, counted apart. Evidence, and no more than that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

__all__ = ["PingTally", "Pings"]

_TELLING = 2  # own design, no source: so many more large ones lost than small ones say something


@dataclass(frozen=True, slots=True, kw_only=True)
class PingTally:
    """Of the newest `sent` pings `came` back; the newest took `ms`, None if it did not come."""

    sent: int = 0
    came: int = 0
    ms: float | None = None

    @property
    def lost(self) -> int:
        """How many did not come back."""
        return self.sent - self.came


NO_PINGS: Final = PingTally()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pings:
    """Small and large pings to one address; `trouble` is why none could be sent, empty if so."""

    address: str
    octets: int  # of the large ones, without headers
    small: PingTally = NO_PINGS
    large: PingTally = NO_PINGS
    trouble: str = ""

    @property
    def only_large_fail(self) -> bool:
        """Whether large ones are lost that small ones are not: damaged frames, or a small MTU."""
        return self.large.lost >= _TELLING and self.large.lost >= 2 * self.small.lost + _TELLING

    @property
    def words(self) -> str:
        """What they say, for a person."""
        if self.trouble:
            return f"no ping to {self.address}: {self.trouble}"
        if not self.small.came:
            return f"none of {self.small.sent} pings to {self.address} came back"
        said = (
            f"{self.small.came} of {self.small.sent} small and {self.large.came} of "
            f"{self.large.sent} large pings ({self.octets} octets) to {self.address} came back"
        )
        if self.only_large_fail:
            return f"{said}: frames are damaged on the way, or it carries no frames so long"
        return said if self.small.ms is None else f"{said}, in {self.small.ms:.1f} ms"

    @staticmethod
    def from_json(said: dict[str, Any]) -> Pings:
        """Out of the dictionary that dataclasses.asdict makes of it."""
        small, large = PingTally(**said["small"]), PingTally(**said["large"])
        return Pings(**{**said, "small": small, "large": large})
