"""How and to whom alerts are told, as configured."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.message import Target
from strandkeeper.model.switch import SecretRef

__all__ = ["Heartbeat", "TellingSettings", "TrapSettings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Heartbeat:
    """A sign of life each `every_s`, to a target by name or as a GET of a secret address."""

    every_s: float = 3600.0
    target: str | None = None
    url: SecretRef | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrapSettings:
    """Where notifications of switches are listened for; at most `rate_per_s` from one switch.

    `sources` are addresses beyond the host itself from which a switch may send, by its name.
    """

    host: str
    port: int
    rate_per_s: float = 10.0
    sources: dict[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class TellingSettings:
    """`quiet_from_min`, `quiet_to_min`: minutes of the local day, the same: no quiet hours.

    `weekly_day`: 0 Monday to 6 Sunday, None: no weekly summary.
    """

    targets: tuple[Target, ...] = ()
    quiet_from_min: int = 22 * 60
    quiet_to_min: int = 7 * 60
    feet: bool = False
    fahrenheit: bool = False
    give_up_s: float = 7 * 86_400.0
    no_readings_s: float = 600.0
    watch_off_s: float = 900.0
    weekly_day: int | None = 0
    weekly_min: int = 8 * 60
    heartbeat: Heartbeat | None = None

    def target(self, name: str) -> Target | None:
        """The target of that name, None if there is none any more."""
        return next((t for t in self.targets if t.name == name), None)
