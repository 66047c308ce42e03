"""The demo's story as data: an invented field station, sixty days up to now, and on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_demo.faults import (
    DAY_S,
    ColdSpell,
    Creep,
    DamagedFrames,
    Dark,
    Fault,
    FrozenDuct,
    Knock,
    Offset,
    Overheat,
    PowerCut,
)
from strandkeeper_demo.station import (
    Community,
    Dialect,
    Module,
    Place,
    Port,
    PowerUnit,
    Switch,
    TreeShape,
    User,
)

__all__ = ["DAYS", "JETTY", "PUMP_HOUSE", "STATION", "UP_BEFORE_S", "Scenario", "story"]

F = TypeVar("F")

STATION = "Tern Sound field station (invented)"
DAYS = 60

LAB_SWITCH = SwitchName("lab")
PUMP_SWITCH = SwitchName("pump-house")
JETTY_SWITCH = SwitchName("jetty")

PUMP_HOUSE = LinkName("Pump house")
JETTY = LinkName("Jetty")

# The switches had run that long when the story begins.
UP_BEFORE_S = 40 * DAY_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One telling of the story. Times are UTC epoch seconds; `now_s` is where history ends."""

    seed: int
    start_s: float
    now_s: float
    utc_offset_s: int
    switches: tuple[Switch, ...]
    links: tuple[Link, ...]
    faults: tuple[Fault, ...]

    def of_kind(self, kind: type[F]) -> tuple[F, ...]:
        """The faults of one kind."""
        return tuple(fault for fault in self.faults if isinstance(fault, kind))

    def switch(self, name: SwitchName) -> Switch:
        """The switch of that name. Raises KeyError."""
        return {switch.name: switch for switch in self.switches}[name]

    def link(self, name: LinkName) -> Link:
        """The link of that name. Raises KeyError."""
        return {link.name: link for link in self.links}[name]


def _lx10(serial: str, launch: float, rx_error: float, tx_error: float) -> Module:
    return Module(
        pmd="1000BASE-LX10",
        mau_type=49,
        wavelength_nm=1310,
        serial=serial,
        launch=Dbm(launch),
        rx_error=Db(rx_error),
        tx_error=Db(tx_error),
    )


def _copper(count: int) -> tuple[Port, ...]:
    return tuple(Port(name=PortName(f"copper{n}"), if_index=n) for n in range(1, count + 1))


def _lab() -> Switch:
    to_pump = Port(
        name=PortName("sfp1"),
        if_index=9,
        alias="to pump house",
        optical=True,
        module=_lx10("TSL0001", -5.8, 0.6, -0.3),
    )
    to_jetty = Port(
        name=PortName("sfp2"),
        if_index=10,
        alias="to jetty",
        optical=True,
        module=Module(
            pmd="1000BASE-BX10-D",
            mau_type=47,
            wavelength_nm=1490,
            serial="TSD0003",
            launch=Dbm(-5.1),
            rx_error=Db(-0.4),
            tx_error=Db(0.5),
            bias_ma=18.0,
        ),
    )
    return Switch(
        name=LAB_SWITCH,
        place=Place.LABORATORY,
        address="127.0.73.1",
        model=1,
        ports=(*_copper(8), to_pump, to_jetty),
        dialect=Dialect(unit=PowerUnit.TENTH_MICROWATT_AS_MILLI, shape=TreeShape.MODULE_HOLDS_PORT),
        access=Community(text="tern-sound-reads"),
    )


def _pump_house() -> Switch:
    to_lab = Port(
        name=PortName("sfp1"),
        if_index=1001,
        alias="to laboratory",
        optical=True,
        module=_lx10("TSL0002", -6.3, -0.7, 0.4),
    )
    empty = Port(name=PortName("sfp2"), if_index=1002, optical=True)
    return Switch(
        name=PUMP_SWITCH,
        place=Place.PUMP_HOUSE,
        address="127.0.73.2",
        model=2,
        ports=(*_copper(4), to_lab, empty),
        dialect=Dialect(unit=PowerUnit.NANOWATT, shape=TreeShape.PORT_HOLDS_MODULE, refresh_s=2),
        access=User(
            name="strandkeeper", auth_key="limpet-kelp-urchin", priv_key="brine-tide-gauge"
        ),
    )


def _jetty() -> Switch:
    to_lab = Port(
        name=PortName("fibre1"),
        if_index=5,
        alias="to laboratory",
        optical=True,
        module=Module(
            pmd="1000BASE-BX10-U",
            mau_type=48,
            wavelength_nm=1310,
            serial="TSU0004",
            launch=Dbm(-5.6),
            rx_error=Db(0.3),
            tx_error=Db(0.2),
            warmth_c=14.0,
        ),
    )
    return Switch(
        name=JETTY_SWITCH,
        place=Place.JETTY,
        address="127.0.73.3",
        model=3,
        ports=(*_copper(4), to_lab),
        dialect=Dialect(
            unit=PowerUnit.HUNDREDTH_DBM,
            shape=TreeShape.PORT_HOLDS_SENSORS,
            refresh_s=5,
            wide_error_counters=False,
            mau=False,
        ),
        access=Community(text="tern-sound-reads"),
    )


def _end(name: str, switch: Switch, port: str) -> PortEnd:
    return PortEnd(name=name, switch=switch.name, port=PortName(port))


def _links(lab: Switch, pump: Switch, jetty: Switch) -> tuple[Link, ...]:
    return (
        Link(
            name=PUMP_HOUSE,
            a=_end("Lab", lab, "sfp1"),
            b=_end("Pump house", pump, "sfp1"),
            strand_ab="blue",
            strand_ba="orange",
            length_m=900,
            matings=4,
            near=End.A,
        ),
        Link(
            name=JETTY,
            a=_end("Lab", lab, "sfp2"),
            b=_end("Jetty", jetty, "fibre1"),
            strands=1,
            strand_ab="green",
            strand_ba="green",
            length_m=350,
            matings=4,
            near=End.A,
        ),
    )


# (hour of the night, seconds dark) of the storm that shook the knocked connector.
STORM = ((2.15, 6), (2.31, 14), (2.62, 4), (2.64, 9), (3.05, 22), (3.4, 5))


def _faults(midnight_s: float) -> tuple[Fault, ...]:
    """What happened; `midnight_s` is the local midnight before now."""

    def at(days_ago: int, hour: float) -> float:
        return midnight_s - days_ago * DAY_S + hour * 3600

    mended_s = at(23, 10.2)
    return (
        Creep(
            link=PUMP_HOUSE,
            direction=Direction.AB,
            start_s=at(48, 0),
            per_day=Db(0.018),
            most=Db(7.0),
        ),
        Overheat(switch=PUMP_SWITCH, start_s=at(35, 10.5), end_s=at(33, 16), rise_c=44),
        Knock(link=JETTY, start_s=at(27, 11.1), end_s=mended_s, added=Db(2.6), restless=Db(0.35)),
        *(
            Dark(link=JETTY, start_s=at(25, hour), end_s=at(25, hour) + lasted)
            for hour, lasted in STORM
        ),
        DamagedFrames(
            link=JETTY,
            direction=Direction.AB,
            start_s=at(25, 2.1),
            end_s=at(25, 3.5),
            per_hour=60,
        ),
        Dark(link=JETTY, start_s=at(23, 9.55), end_s=mended_s),
        Offset(link=JETTY, start_s=mended_s, change=Db(0.15)),
        PowerCut(switch=PUMP_SWITCH, start_s=at(16, 1.68), end_s=at(16, 5.4)),
        FrozenDuct(
            link=JETTY,
            start_s=at(DAYS + 1, 0),
            freezes_c=1.0,
            per_c=Db(0.28),
            most=Db(1.4),
            longer_nm=1480,
            longer_factor=1.9,
        ),
        ColdSpell(start_s=at(12, 12), end_s=at(8, 12), drop_c=6.5),
        ColdSpell(start_s=at(5, 12), end_s=at(-3, 12), drop_c=6.0, again_s=13 * DAY_S),
    )


def story(*, now_s: float, utc_offset_s: int = 0, seed: int = 598) -> Scenario:
    """The story with its end at `now_s`; nights fall by the clock of `utc_offset_s`."""
    local_s = now_s + utc_offset_s
    midnight_s = local_s - local_s % DAY_S - utc_offset_s
    switches = (_lab(), _pump_house(), _jetty())
    return Scenario(
        seed=seed,
        start_s=now_s - DAYS * DAY_S,
        now_s=now_s,
        utc_offset_s=utc_offset_s,
        switches=switches,
        links=_links(*switches),
        faults=_faults(midnight_s),
    )
