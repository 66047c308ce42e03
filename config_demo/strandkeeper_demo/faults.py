"""What can befall the station: each fault is data, with the loss or the silence it brings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from strandkeeper.model.names import Direction, LinkName, SwitchName
from strandkeeper.optics.units import Db

__all__ = [
    "ColdSpell",
    "Creep",
    "DamagedFrames",
    "Dark",
    "Fault",
    "FrozenDuct",
    "Knock",
    "Offset",
    "Overheat",
    "PowerCut",
]

DAY_S = 86400


@dataclass(frozen=True, slots=True, kw_only=True)
class Creep:
    """A connector of one strand that lets go little by little."""

    link: LinkName
    direction: Direction
    start_s: float
    per_day: Db
    most: Db

    def loss(self, time_s: float) -> Db:
        """What it adds by then."""
        return min(self.per_day * (max(0.0, time_s - self.start_s) / DAY_S), self.most)


@dataclass(frozen=True, slots=True, kw_only=True)
class Knock:
    """A connector knocked out of place until somebody mends it: more loss, and restless.

    A gap between two fibre ends costs all wavelengths alike, so both directions of a single
    strand lose the same.
    """

    link: LinkName
    start_s: float
    end_s: float
    added: Db
    restless: Db

    def loss(self, time_s: float, *, wander: float) -> Db:
        """What it adds then; `wander` is noise in -1..1."""
        if not self.start_s <= time_s < self.end_s:
            return Db(0.0)
        return self.added + self.restless * wander


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """A connector made anew: never quite what it was."""

    link: LinkName
    start_s: float
    change: Db

    def loss(self, time_s: float) -> Db:
        """What it adds by then."""
        return self.change if time_s >= self.start_s else Db(0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FrozenDuct:
    """Water that freezes in a duct and presses on the cable: a bend, so longer light loses more.

    The size is invented; that the longer wavelength loses more is what bends do (ITU-T G.657,
    table 1: 1625 nm two to four times 1550 nm).
    """

    link: LinkName
    start_s: float
    freezes_c: float
    per_c: Db
    most: Db
    longer_nm: int
    longer_factor: float

    def loss(self, time_s: float, *, duct_c: float, wavelength_nm: int) -> Db:
        """What it adds then to light of that wavelength."""
        if time_s < self.start_s:
            return Db(0.0)
        shorter = min(self.per_c * max(0.0, self.freezes_c - duct_c), self.most)
        return shorter * (self.longer_factor if wavelength_nm >= self.longer_nm else 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dark:
    """No light either way: unplugged, or a contact that opened for seconds."""

    link: LinkName
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCut:
    """A switch without supply; what follows takes its time, as switches do (own figures)."""

    switch: SwitchName
    start_s: float
    end_s: float

    @property
    def laser_s(self) -> float:
        """When its lasers shine again."""
        return self.end_s + 25

    @property
    def boot_s(self) -> float:
        """When its uptime starts to count."""
        return self.end_s + 30

    @property
    def link_s(self) -> float:
        """When its ports are up."""
        return self.end_s + 60

    @property
    def answers_s(self) -> float:
        """When it answers again."""
        return self.end_s + 70


@dataclass(frozen=True, slots=True, kw_only=True)
class Overheat:
    """A cabinet whose ventilation fails: warms up and cools down in hours."""

    switch: SwitchName
    start_s: float
    end_s: float
    rise_c: float
    settles_s: float = 7200.0

    def rise(self, time_s: float) -> float:
        """How much warmer than usual, in °C."""
        if time_s < self.start_s:
            return 0.0
        heated = 1 - math.exp(-(min(time_s, self.end_s) - self.start_s) / self.settles_s)
        cooled = math.exp(-max(0.0, time_s - self.end_s) / self.settles_s)
        return self.rise_c * heated * cooled


@dataclass(frozen=True, slots=True, kw_only=True)
class DamagedFrames:
    """Frames that arrive damaged."""

    link: LinkName
    direction: Direction
    start_s: float
    end_s: float
    per_hour: float

    def count(self, from_s: float, to_s: float) -> int:
        """How many fell into that stretch of time (from a fixed origin, so that none is lost)."""
        return self._until(to_s) - self._until(from_s)

    def _until(self, time_s: float) -> int:
        lasted = min(max(time_s, self.start_s), self.end_s) - self.start_s
        return int(lasted * self.per_hour / 3600)


@dataclass(frozen=True, slots=True, kw_only=True)
class ColdSpell:
    """Days that are colder than the season, with half a day of change at either side.

    `again_s` is how long after its start the next one like it starts; 0: it stays the only one.
    """

    start_s: float
    end_s: float
    drop_c: float
    again_s: float = 0.0

    def drop(self, time_s: float) -> float:
        """How much colder, in °C."""
        if time_s < self.start_s:
            return 0.0
        since = time_s - self.start_s
        if self.again_s:
            since %= self.again_s
        edge = min(since, self.end_s - self.start_s - since) / (DAY_S / 2)
        return self.drop_c * min(1.0, edge) if edge > 0 else 0.0


Fault = Creep | Knock | Offset | FrozenDuct | Dark | PowerCut | Overheat | DamagedFrames | ColdSpell
