"""What one poll of one switch brought, and what a switch said of itself and its ports."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.reading import EndRow

__all__ = ["LinkEnd", "PortIdentity", "SwitchIdentity", "SwitchPoll"]


@dataclass(frozen=True, slots=True)
class LinkEnd:
    """Which end of which link."""

    link: LinkName
    end: End


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchIdentity:
    """The system group, and the enterprise number (IANA) out of sysObjectID."""

    sys_name: str = ""
    sys_descr: str = ""
    sys_object_id: str = ""
    enterprise: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PortIdentity:
    """One port as the switch names it and how it is read.

    `named_by` is the object that matched the configured name (ifName, ifAlias, ifDescr);
    `reader` the name of the reader that yields the optics, "none" without one; `errors_from` the
    object that counts damaged frames; `remarks` are sentences for a person.
    """

    port: PortName
    if_index: int
    named_by: str = "ifName"
    reader: str = "none"
    errors_from: str = ""
    mau_type: int | None = None
    speed_mbps: int | None = None
    module_id: str | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPoll:
    """The outcome of one poll: rows for every link end on this switch, also when none came.

    `error` is empty when the switch answered, else the sentence for a person with `hint`.
    """

    switch: SwitchName
    time_ms: int
    answered: bool
    round_trip_ms: float | None = None
    error: str = ""
    hint: str = ""
    restarted: bool = False
    renumbered: bool = False
    uptime_cs: int | None = None
    identity: SwitchIdentity = field(default_factory=SwitchIdentity)
    ports: dict[LinkEnd, PortIdentity] = field(default_factory=dict)
    missing_ports: tuple[PortName, ...] = ()
    known_ports: tuple[PortName, ...] = ()
    rows: tuple[tuple[LinkEnd, EndRow], ...] = ()
