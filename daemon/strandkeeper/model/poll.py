"""What one poll of one switch brought, and what a switch said of itself and its ports."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.ping import Pings
from strandkeeper.model.reading import EndRow

__all__ = ["LinkEnd", "PortIdentity", "PowerSupply", "SwitchIdentity", "SwitchPoll"]


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
    object that counts damaged frames; `module_id` tells its module from another, and
    `module_maker`, `module_part` and `module_wavelength_nm` are what that says of itself; `remarks`
    are sentences for a person.
    """

    port: PortName
    if_index: int
    named_by: str = "ifName"
    reader: str = "none"
    errors_from: str = ""
    mau_type: int | None = None
    speed_mbps: int | None = None
    module_id: str | None = None
    module_maker: str = ""
    module_part: str = ""
    module_wavelength_nm: float | None = None
    remarks: tuple[str, ...] = ()

    @property
    def module(self) -> str:
        """All that is known of the module, for a person; empty if nothing is."""
        facts = ModuleFacts(
            maker=self.module_maker, part=self.module_part, wavelength_nm=self.module_wavelength_nm
        )
        number = (self.module_id or "").partition(", ")[0]
        known = (facts.maker, facts.part, facts.wavelength, number)
        return " ".join(dict.fromkeys(part for part in known if part))


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerSupply:
    """How a switch feeds others (PoE, RFC 3621) and is fed (UPS-MIB, RFC 1628); None: unknown.

    `denied` counts how often ports were refused power since the switch began to count, `faulty` the
    supplies of its ports that are out of order; `ups_on_battery_s` is 0 on mains;
    `ups_battery` is normal, low or depleted; `ups_source` none, normal, bypass, battery, booster or
    reducer.
    """

    budget_w: int | None = None
    draw_w: int | None = None
    denied: int | None = None
    faulty: int | None = None
    ups_battery: str = ""
    ups_on_battery_s: int | None = None
    ups_minutes_left: int | None = None
    ups_charge_percent: int | None = None
    ups_source: str = ""

    @property
    def words(self) -> str:
        """In a sentence's part, for a person."""
        return ", ".join(part for part in (self.feeding, self.fed) if part)

    @property
    def feeding(self) -> str:
        """What it gives to its ports; empty if it does not say."""
        parts = []
        if self.draw_w is not None:
            budget = "" if self.budget_w is None else f" of {self.budget_w} W"
            parts.append(f"feeds {self.draw_w} W{budget} to its ports")
        if self.denied:
            parts.append(f"refused power {self.denied} times")
        if self.faulty:
            parts.append(f"{self.faulty} of its supplies out of order")
        return ", ".join(parts)

    @property
    def fed(self) -> str:
        """What feeds it; empty if it does not say."""
        parts = []
        if self.ups_source:
            parts.append(f"its supply is on {self.ups_source}")
        if self.ups_on_battery_s:
            parts.append(f"on battery for {self.ups_on_battery_s} s")
        if self.ups_charge_percent is not None:
            parts.append(f"battery at {self.ups_charge_percent} %")
        if self.ups_minutes_left is not None:
            parts.append(f"which lasts {self.ups_minutes_left} minutes")
        if self.ups_battery in ("low", "depleted"):
            parts.append(f"battery {self.ups_battery}")
        return ", ".join(parts)

    @property
    def in_need(self) -> bool:
        """Whether what feeds it may end soon: on battery, or with one that is used up."""
        return (
            self.ups_source in ("battery", "none")
            or bool(self.ups_on_battery_s)
            or self.ups_battery in ("low", "depleted")
        )


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
    power: PowerSupply | None = None
    pings: dict[LinkEnd, Pings] = field(default_factory=dict)
