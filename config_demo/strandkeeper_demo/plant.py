"""The simulated plant: fibre, connectors and modules, as a pure function of time and seed.

History and live ask the same functions, so that nothing jumps where the one becomes the other.
What a hand does on top of the story is kept apart, in `Meddling`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_demo.faults import Creep, Dark, FrozenDuct, Knock, Offset, PowerCut
from strandkeeper_demo.meddling import Meddling
from strandkeeper_demo.noise import Noise
from strandkeeper_demo.scenario import UP_BEFORE_S, Scenario
from strandkeeper_demo.spans import Spans
from strandkeeper_demo.station import Module, Port, Switch
from strandkeeper_demo.weather import Weather

__all__ = ["Boot", "Counts", "Plant", "Where"]

MATING = Db(0.28)
# Where these receivers give up (own figure, some dB below the class's sensitivity).
FAILS_BELOW = Dbm(-23.0)
# dB/km of good cabled fibre (optics facts 3.1: 0.32-0.36 at 1310 nm; 1490 nm lies between the
# bands quoted there, invented).
ATTENUATION: Final[dict[int, float]] = {1310: 0.34, 1490: 0.26}


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What a module's converters hold, in SFF-8472's own units (9.2): integers.

    `temp` 1/256 °C (signed), `vcc` 100 µV, `bias` 2 µA, `tx` and `rx` 0.1 µW.
    """

    temp: int
    vcc: int
    bias: int
    tx: int
    rx: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Boot:
    """When a switch's uptime began, and how often it has started."""

    time_s: float
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Which end of which link a port is."""

    link: Link
    end: End


class Plant:
    """Everything physical of the station. Times are UTC epoch seconds."""

    def __init__(self, scenario: Scenario, meddling: Meddling | None = None) -> None:
        self.scenario = scenario
        self.meddling = meddling if meddling is not None else Meddling()
        self.weather = Weather(scenario)
        self._noise = Noise(scenario.seed)
        self._cuts = scenario.of_kind(PowerCut)
        self._ends = {
            (switch.name, port.name): Where(link=link, end=end)
            for link in scenario.links
            for end in End
            for switch, port in [self.port(link, end)]
        }
        self._darkness = {link.name: self._dark_spans(link) for link in scenario.links}
        self._down = {link.name: self._down_spans(link) for link in scenario.links}
        self._no_laser = {
            s.name: Spans((c.start_s, c.laser_s) for c in self._cuts if c.switch == s.name)
            for s in scenario.switches
        }
        self._silent = {s.name: self._silent_spans(s) for s in scenario.switches}
        self._losses = {
            (link.name, direction): _Losses(scenario, link.name, direction)
            for link in scenario.links
            for direction in Direction
        }

    # What is where

    def where(self, switch: SwitchName, port: PortName) -> Where | None:
        """The link end at a port, None for a port without fibre."""
        return self._ends.get((switch, port))

    def port(self, link: Link, end: End) -> tuple[Switch, Port]:
        """The switch and port at one end of a link."""
        description = link.end(end)
        if description.switch is None or description.port is None:
            raise KeyError(f"{link.name} {end.name} has no switch")
        switch = self.scenario.switch(description.switch)
        return switch, switch.port(description.port)

    def module(self, switch: Switch, port: Port) -> Module | None:
        """The module in a port now, None for an empty slot."""
        return None if (switch.name, port.name) in self.meddling.pulled else port.module

    # Supply, silence and state

    def boot(self, switch: SwitchName, time_s: float) -> Boot:
        """The start that a switch runs since."""
        begun = [c.boot_s for c in self._cuts if c.switch == switch and c.boot_s <= time_s]
        first = self.scenario.start_s - UP_BEFORE_S
        return Boot(time_s=max([first, *begun]), number=3 + len(begun))

    def answers(self, switch: SwitchName, time_s: float) -> bool:
        """Whether a switch can be reached: it has supply, and so has the way to it."""
        if self._silent[switch].covers(time_s):
            return False
        return all(
            link.b.switch != switch or self.link_is_up(link, time_s) for link in self.scenario.links
        )

    def link_is_up(self, link: Link, time_s: float) -> bool:
        """Whether the ports of a link see each other."""
        return not self.down(link.name).covers(time_s) and not self._meddled(link, time_s)

    def down(self, link: LinkName) -> Spans:
        """When the story has a link down."""
        return self._down[link]

    def last_change(self, link: Link, time_s: float) -> float | None:
        """When the link last went down or up, None if never in the story."""
        touched = self.meddling.modules_touched
        edges = [
            self._down[link.name].last_edge(time_s),
            self.meddling.plugs_touched.get(link.name),
            *(time for place, time in touched.items() if self._is_on(link, place)),
        ]
        return max((edge for edge in edges if edge is not None), default=None)

    def _is_on(self, link: Link, place: tuple[SwitchName, PortName]) -> bool:
        where = self._ends.get(place)
        return where is not None and where.link.name == link.name

    # Light

    def loss(self, link: Link, direction: Direction, time_s: float) -> Db:
        """What the glass of one direction loses: fibre, matings, faults, and what a hand added."""
        _, sender = self.port(link, direction.sender)
        wavelength = sender.module.wavelength_nm if sender.module else 1310
        length_km = (link.length_m or 0.0) / 1000
        planned = Db(length_km * ATTENUATION[wavelength]) + MATING * link.matings
        faults = self._losses[link.name, direction]
        by_hand = self.meddling.added.get((link.name, direction), Db(0.0))
        return planned + faults.at(time_s, self.weather, self._noise, wavelength) + by_hand

    def launched(self, switch: Switch, port: Port, time_s: float) -> Dbm | None:
        """What a laser truly puts into the glass; None when it does not shine."""
        module = self.module(switch, port)
        if module is None or self._no_laser[switch.name].covers(time_s):
            return None
        warmer = self.module_c(switch, port, time_s) - 25.0
        wander = 0.03 * self._noise.smooth(f"laser {module.serial}", time_s, 4 * 3600)
        return module.launch + Db(wander - 0.004 * warmer)

    def arriving(self, link: Link, end: End, time_s: float) -> Dbm | None:
        """What truly reaches the receiver at one end; None when it is dark."""
        direction = Direction.seen_by(end)
        if self._darkness[link.name].covers(time_s) or link.name in self.meddling.unplugged:
            return None
        light = self.launched(*self.port(link, direction.sender), time_s)
        return None if light is None else light - self.loss(link, direction, time_s)

    # What the modules say

    def module_c(self, switch: Switch, port: Port, time_s: float) -> float:
        """True temperature of a module, in °C."""
        warmth = port.module.warmth_c if port.module else 0.0
        return self.weather.around_c(switch, time_s) + warmth

    def counts(self, switch: Switch, port: Port, time_s: float) -> Counts | None:
        """What a module's converters hold; None for an empty slot."""
        module = self.module(switch, port)
        if module is None:
            return None
        temp_c = self.module_c(switch, port, time_s)
        sent = self.launched(switch, port, time_s)
        where = self.where(switch.name, port.name)
        seen = self.arriving(where.link, where.end, time_s) if where else None
        restless = 0.02 * self._noise.grain(f"rx {module.serial}", time_s)
        wander = 0.025 * self._noise.smooth(f"rx {module.serial}", time_s, 5400)
        error = module.rx_error + Db(0.003 * (temp_c - 25.0) + restless + wander)
        return Counts(
            temp=round(temp_c * 256),
            vcc=33000 + round(60 * self._noise.smooth(f"vcc {module.serial}", time_s, 900)),
            bias=_bias_counts(module, temp_c) if sent is not None else 0,
            tx=_power_counts(sent, module.tx_error),
            rx=_power_counts(seen, error),
        )

    # How the story becomes stretches of time

    def _dark_spans(self, link: Link) -> Spans:
        return Spans(
            (d.start_s, d.end_s) for d in self.scenario.of_kind(Dark) if d.link == link.name
        )

    def _down_spans(self, link: Link) -> Spans:
        own = {link.a.switch, link.b.switch}
        return Spans(
            [
                *((start, end + 2.0) for start, end in self._dark_spans(link)),
                *((c.start_s, c.link_s) for c in self._cuts if c.switch in own),
            ]
        )

    def _silent_spans(self, switch: Switch) -> Spans:
        return Spans((c.start_s, c.answers_s) for c in self._cuts if c.switch == switch.name)

    def _meddled(self, link: Link, time_s: float) -> bool:
        """Whether a hand has taken the link down: plug, module, or too little light left."""
        if link.name in self.meddling.unplugged:
            return True
        if any(self._is_on(link, place) for place in self.meddling.pulled):
            return True
        weakened = [d for d in Direction if (link.name, d) in self.meddling.added]
        lights = [self.arriving(link, d.receiver, time_s) for d in weakened]
        return any(light is None or light < FAILS_BELOW for light in lights)


class _Losses:
    """The faults that cost light in one direction of one link."""

    def __init__(self, scenario: Scenario, link: LinkName, direction: Direction) -> None:
        self._creeps = [
            f for f in scenario.of_kind(Creep) if f.link == link and f.direction is direction
        ]
        self._knocks = [f for f in scenario.of_kind(Knock) if f.link == link]
        self._offsets = [f for f in scenario.of_kind(Offset) if f.link == link]
        self._ducts = [f for f in scenario.of_kind(FrozenDuct) if f.link == link]
        self._name = link

    def at(self, time_s: float, weather: Weather, noise: Noise, wavelength_nm: int) -> Db:
        total = Db(0.0)
        for creep in self._creeps:
            total += creep.loss(time_s)
        for offset in self._offsets:
            total += offset.loss(time_s)
        for knock in self._knocks:
            if knock.start_s <= time_s < knock.end_s:
                wander = noise.smooth(f"knock {self._name}", time_s, 45)
                total += knock.loss(time_s, wander=wander)
        for duct in self._ducts:
            duct_c = weather.duct_c(time_s)
            total += duct.loss(time_s, duct_c=duct_c, wavelength_nm=wavelength_nm)
        return total


def _power_counts(power: Dbm | None, error: Db) -> int:
    """A power as SFF-8472 counts it: 0.1 µW steps, 16 bits."""
    if power is None:
        return 0
    return min(65535, round((power + error).to_milliwatt().value * 10000))


def _bias_counts(module: Module, temp_c: float) -> int:
    """Laser current in 2 µA steps: it rises with temperature to hold the power (own figures)."""
    return round(module.bias_ma * math.exp((temp_c - 25.0) / 90.0) * 500)
