"""Two switches joined by fibre: what their modules hold, as a pure function of time and seed.

Own figures within what the classes allow (IEEE 802.3 clauses 52, 58, 59) and SFF-8472 9.2 demands.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum, StrEnum

from strandkeeper.optics.units import Db, Dbm, Milliwatt
from strandkeeper_demo.noise import Noise

__all__ = ["Fill", "Lane", "Pair", "PortNow", "PortPlan", "Quantity"]


class Quantity(StrEnum):
    """The five figures of a module, in the order of SFF-8472."""

    TEMPERATURE = "temperature"
    SUPPLY = "supply"
    BIAS = "bias"
    TX = "transmit power"
    RX = "receive power"


class Fill(Enum):
    """What is in a port."""

    LIT = "a module whose far end shines"
    DARK = "a module without light"
    EMPTY = "nothing"
    COPPER = "a copper port"
    NO_DDM = "a module that works and measures nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class PortPlan:
    """One port of a switch: its number on the front panel, what is in it, how its name reads."""

    number: int
    fill: Fill
    name: str
    optic: str = "1000BASE-LX10"
    lanes: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One laser and its receiver. None: no light, or a laser that is off."""

    bias_ma: float
    tx: Milliwatt | None
    rx: Milliwatt | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PortNow:
    """One port at one instant; the figures are as the module shows them, rounded as it does."""

    plan: PortPlan
    up: bool
    present: bool
    serial: str
    temperature_c: float
    supply_v: float
    lanes: tuple[Lane, ...]

    @property
    def measures(self) -> bool:
        """Whether there is a module that measures itself."""
        return self.present and self.plan.fill in (Fill.LIT, Fill.DARK)


@dataclass(frozen=True, slots=True, kw_only=True)
class Optic:
    """A class of module: usual launch power, bias at 25 °C, and the loss it is used over."""

    launch: Dbm
    bias_ma: float
    loss: tuple[float, float]
    mbps: int
    wavelength_nm: int
    mau_type: int


# Usual parts of these classes, own figures; MAU types by IANA-MAU-MIB.
OPTICS = {
    "100BASE-LX10": Optic(
        launch=Dbm(-11.5), bias_ma=12, loss=(2, 8), mbps=100, wavelength_nm=1310, mau_type=46
    ),
    "1000BASE-SX": Optic(
        launch=Dbm(-5.5), bias_ma=5.5, loss=(0.6, 3), mbps=1000, wavelength_nm=850, mau_type=26
    ),
    "1000BASE-LX10": Optic(
        launch=Dbm(-6.0), bias_ma=17, loss=(1, 8), mbps=1000, wavelength_nm=1310, mau_type=49
    ),
    "1000BASE-ZX": Optic(
        launch=Dbm(2.0), bias_ma=38, loss=(9, 20), mbps=1000, wavelength_nm=1550, mau_type=22
    ),
    "10GBASE-SR": Optic(
        launch=Dbm(-2.6), bias_ma=6.8, loss=(0.5, 2), mbps=10000, wavelength_nm=850, mau_type=36
    ),
    "10GBASE-LR": Optic(
        launch=Dbm(-2.2), bias_ma=34, loss=(1, 6), mbps=10000, wavelength_nm=1310, mau_type=35
    ),
    "40GBASE-LR4": Optic(
        launch=Dbm(0.5), bias_ma=42, loss=(1, 5), mbps=40000, wavelength_nm=1310, mau_type=74
    ),
}


class Pair:
    """Two switches, `a` and `b`; their lit ports are joined in order, if of as many lanes.

    What is left over leads away.
    The hands that act on them are methods: unplug, plug, pull, insert. Nothing else changes.
    """

    def __init__(self, a: Sequence[PortPlan], b: Sequence[PortPlan], *, seed: int) -> None:
        self._noise = Noise(seed)
        self._plans = (tuple(a), tuple(b))
        lit = [[p for p in side if p.fill is Fill.LIT] for side in self._plans]
        self.links = tuple(
            (x.number, y.number) for x, y in zip(*lit, strict=False) if x.lanes == y.lanes
        )
        self._far = {(0, x): (1, y) for x, y in self.links} | {
            (1, y): (0, x) for x, y in self.links
        }
        self._optics = {
            (side, plan.number): plan.optic for side in (0, 1) for plan in self._plans[side]
        }
        for x, y in self.links:
            self._optics[1, y] = self._optics[0, x]
        self._unplugged: set[tuple[int, int]] = set()
        self._pulled: set[tuple[int, int]] = set()
        self._serials: dict[tuple[int, int], int] = {}

    def optic(self, side: int, number: int) -> Optic:
        """The class of module in a port."""
        return OPTICS[self._optics[side, number]]

    def unplug(self, side: int, number: int) -> None:
        """Take the plug out of a receiver."""
        self._unplugged.add((side, number))

    def plug(self, side: int, number: int) -> None:
        """Put it back."""
        self._unplugged.discard((side, number))

    def pull(self, side: int, number: int) -> None:
        """Take a module out."""
        self._pulled.add((side, number))

    def insert(self, side: int, number: int) -> None:
        """Put another module in."""
        self._pulled.discard((side, number))
        self._serials[side, number] = self._serials.get((side, number), 0) + 1

    def touched(self) -> tuple[object, ...]:
        """What hands have changed so far, for whoever keeps what was worked out."""
        return (
            tuple(sorted(self._unplugged)),
            tuple(sorted(self._pulled)),
            tuple(sorted(self._serials.items())),
        )

    def ports(self, side: int, time_s: float) -> tuple[PortNow, ...]:
        """All ports of one switch."""
        return tuple(self._port(side, plan, time_s) for plan in self._plans[side])

    def _port(self, side: int, plan: PortPlan, time_s: float) -> PortNow:
        place = (side, plan.number)
        present = plan.fill not in (Fill.EMPTY, Fill.COPPER) and place not in self._pulled
        celsius = self._celsius(place, time_s)
        supply = (
            3.3 + 0.03 * self._fixed("supply", place) + 0.004 * self._wave("supply", place, time_s)
        )
        return PortNow(
            plan=plan,
            up=plan.fill is Fill.COPPER or self._up(place, time_s),
            present=present or plan.fill is Fill.COPPER,
            serial=self._serial(place) if present else "",
            temperature_c=round(celsius * 256) / 256,
            supply_v=round(supply * 10_000) / 10_000,
            lanes=tuple(self._lane(place, lane, celsius, time_s) for lane in range(plan.lanes)),
        )

    def _up(self, place: tuple[int, int], time_s: float) -> bool:
        plan = self._plan(place)
        if plan.fill not in (Fill.LIT, Fill.NO_DDM) or place in self._pulled | self._unplugged:
            return False
        far = self._far.get(place)
        return far is None or far not in self._pulled | self._unplugged

    def _plan(self, place: tuple[int, int]) -> PortPlan:
        return next(p for p in self._plans[place[0]] if p.number == place[1])

    def _serial(self, place: tuple[int, int]) -> str:
        return f"INV{place[0]}{place[1]:03}{self._serials.get(place, 0):04}"

    def _celsius(self, place: tuple[int, int], time_s: float) -> float:
        return (
            37.0
            + 8.0 * self._fixed("warmth", place)
            + 1.2 * self._noise.smooth(f"room {place[0]}", time_s, 1800)
            + 0.15 * self._wave("warmth", place, time_s)
        )

    def _lane(self, place: tuple[int, int], lane: int, celsius: float, time_s: float) -> Lane:
        optic = self.optic(*place)
        bias = optic.bias_ma * (1 + 0.2 * self._fixed(f"bias {lane}", place))
        bias *= math.exp((celsius - 25.0) / 90.0)
        sent = self._launched(place, lane, time_s)
        tx_error = Db(0.8 * self._fixed(f"tx error {lane}", place))
        return Lane(
            bias_ma=round(bias * 500) / 500,
            tx=_counted(sent + tx_error),
            rx=self._received(place, lane, time_s),
        )

    def _launched(self, place: tuple[int, int], lane: int, time_s: float) -> Dbm:
        own = Db(1.5 * self._fixed(f"launch {lane}", place))
        return self.optic(*place).launch + own + Db(0.03 * self._wave(f"tx {lane}", place, time_s))

    def _received(self, place: tuple[int, int], lane: int, time_s: float) -> Milliwatt | None:
        plan, far = self._plan(place), self._far.get(place)
        if plan.fill is not Fill.LIT or place in self._unplugged or far in self._pulled:
            return None
        sender = far if far is not None else (2, place[1] + 100 * place[0])
        source = self._launched(far, lane, time_s) if far else self.optic(*place).launch
        low, high = self.optic(*place).loss
        share = 0.5 + 0.5 * self._fixed(f"loss {lane}", sender)
        loss = low + (high - low) * share + 0.08 * self._noise.smooth(f"l{sender}", time_s, 5400)
        error = 0.9 * self._fixed(f"rx error {lane}", place)
        error += 0.03 * self._wave(f"rx {lane}", place, time_s)
        return _counted(source - Db(loss) + Db(error))

    def _fixed(self, what: str, place: tuple[int, int]) -> float:
        """A constant of a port in -1..1."""
        return self._noise.smooth(f"{what} {place}", 0.0, 1.0)

    def _wave(self, what: str, place: tuple[int, int], time_s: float) -> float:
        """What moves from reading to reading, mostly within ±2."""
        name = f"{what} {place}"
        return self._noise.smooth(name, time_s, 900) + 0.4 * self._noise.grain(name, time_s)


def _counted(power: Dbm) -> Milliwatt | None:
    """As a module shows it: 0.1 µW steps, 16 bits; None below half a step (SFF-8472 9.2)."""
    counts = min(65535, round(power.to_milliwatt().value * 10_000))
    return Milliwatt(counts / 10_000) if counts else None
