"""The whole configuration after checking, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.link import Link, Thresholds
from strandkeeper.model.names import LinkName, SwitchName
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.model.telling import TellingSettings, TrapSettings

__all__ = ["Address", "Intervals", "Retention", "Settings", "StoreSettings"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """A TCP address to listen on; `port` 0 lets the system choose (tests)."""

    host: str
    port: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Intervals:
    """How often the switches are asked, in seconds."""

    status_s: int = 10
    optics_s: int = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Retention:
    """How long each tier is kept, in days; hourly rows are kept for ever."""

    raw_days: int = 30
    five_minutes_days: int = 730


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreSettings:
    """The record file."""

    path: str
    batch_s: float = 20.0
    retention: Retention = field(default_factory=Retention)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Everything a person configured, defaults filled in.

    `behind_proxy` is the host name under which a reverse proxy on this machine serves the pages;
    empty: there is none, and what a proxy would say of itself is not believed.
    """

    station: str
    switches: tuple[SwitchTarget, ...]
    links: tuple[Link, ...]
    store: StoreSettings
    intervals: Intervals = field(default_factory=Intervals)
    dashboard: Address = Address(host="127.0.0.1", port=8080)
    behind_proxy: str = ""
    metrics: Address | None = Address(host="127.0.0.1", port=9470)
    thresholds: Thresholds = field(default_factory=Thresholds)
    telling: TellingSettings = field(default_factory=TellingSettings)
    traps: TrapSettings | None = None

    def switch(self, name: SwitchName) -> SwitchTarget:
        """The switch of that name. Raises KeyError."""
        return next(s for s in self.switches if s.name == name)

    def link(self, name: LinkName) -> Link:
        """The link of that name. Raises KeyError."""
        for link in self.links:
            if link.name == name:
                return link
        raise KeyError(name)
