"""How a switch answers: its newest poll without the rows, and since when it is so."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.ping import Pings
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchIdentity

__all__ = ["SwitchHealth"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchHealth:
    """One switch as last asked at `at_ms`; it answers, or is silent, since `since_ms`.

    `heard_ms` is its last answer, `misses` the polls without one since then. What it said of itself
    and its ports stays while it is silent; `error` is empty when it answered.
    """

    switch: SwitchName
    at_ms: int
    answered: bool
    since_ms: int
    heard_ms: int | None = None
    misses: int = 0
    round_trip_ms: float | None = None
    error: str = ""
    hint: str = ""
    uptime_cs: int | None = None
    identity: SwitchIdentity = field(default_factory=SwitchIdentity)
    ports: dict[LinkEnd, PortIdentity] = field(default_factory=dict)
    missing_ports: tuple[PortName, ...] = ()
    known_ports: tuple[PortName, ...] = ()
    power: PowerSupply | None = None
    pings: dict[LinkEnd, Pings] = field(default_factory=dict)
