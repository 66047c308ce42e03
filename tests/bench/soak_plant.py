"""What the daemon of tests/bench/soak.py lives in: its clock, its loop, its switches."""

from __future__ import annotations

import asyncio
import math
import selectors
import time
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from time import struct_time
from typing import Any, Final, TypeVar

from strandkeeper.app.disk import Disk
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.message import Message, Target
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchPoll
from strandkeeper.model.power import NO_LIGHT, Measured, Power
from strandkeeper.model.reading import (
    AdminStatus,
    Deltas,
    EndRow,
    OperStatus,
    OpticalReading,
)
from strandkeeper.notify.delivery import DELIVERED, Delivery, failed
from strandkeeper.optics.units import Dbm

T = TypeVar("T")

START_S: Final = 1_799_971_200  # 2027-01-15 00:00 UTC, a Friday
DAY_S: Final = 86_400
POLL_TAKES_S: Final = 0.05

HUB, PUMP, GATE = SwitchName("hub"), SwitchName("pump"), SwitchName("gate")
SHORE, QUAY = LinkName("shore"), LinkName("quay")
PMD: Final = "1000BASE-LX10"
LINKS: Final = tuple(
    Link(
        name=name,
        a=PortEnd(name="Hub", switch=HUB, port=PortName(port), pmd=PMD),
        b=PortEnd(name=str(far), switch=far, port=PortName("1"), pmd=PMD),
        length_m=length_m,
        near=End.A,
    )
    for name, port, far, length_m in ((SHORE, "1", PUMP, 900), (QUAY, "2", GATE, 2400))
)

ENDS: Final = 2 * len(LINKS)


class Clock:
    """Stands where `time` stands in the daemon's modules; moves only when it is told to."""

    def __init__(self) -> None:
        self.ns = 0

    def advance(self, seconds: float) -> None:
        """Move on by at least that."""
        self.ns += math.ceil(seconds * 1e9)

    def monotonic(self) -> float:
        return self.ns / 1e9

    def monotonic_ns(self) -> int:
        return self.ns

    def time(self) -> float:
        return START_S + self.ns / 1e9

    def time_ns(self) -> int:
        return START_S * 10**9 + self.ns

    def localtime(self) -> struct_time:
        return time.localtime(self.time())

    def datetime(self) -> type[datetime]:
        """A `datetime` whose now() is this clock's."""
        clock = self

        class Told(datetime):
            @classmethod
            def now(cls, tz: tzinfo | None = None) -> Any:
                micros = START_S * 10**6 + clock.ns // 1000
                whole = datetime.fromtimestamp(micros // 10**6, tz or UTC)
                return whole.replace(microsecond=micros % 10**6)

        return Told


class _Jump(selectors.EpollSelector):
    """Waits for nothing: where the loop would, the clock moves on."""

    def __init__(self, clock: Clock) -> None:
        super().__init__()
        self._clock = clock

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        found = super().select(None if timeout is None else 0)
        if not found and timeout:
            self._clock.advance(timeout)
        return found


class Loop(asyncio.SelectorEventLoop):
    def __init__(self, clock: Clock) -> None:
        super().__init__(_Jump(clock))
        self._told = clock

    def time(self) -> float:
        return self._told.monotonic()


class AtOnce(Disk):
    """The disk without its thread."""

    async def do(self, work: Callable[[], T]) -> T:
        return work()


@dataclass(frozen=True, slots=True)
class Pace:
    """How often what is done, in s; the whole run is a whole number of each tick."""

    tick_s: int = 10
    status_s: int = 10
    optics_s: int = 30
    batch_s: int = 60


@dataclass
class Plant:
    """Light, states and counters as functions of simulated time; counts how often it was asked."""

    clock: Clock
    pace: Pace
    status: dict[SwitchName, int] = field(default_factory=lambda: defaultdict(int))
    optics: dict[SwitchName, int] = field(default_factory=lambda: defaultdict(int))
    messages: int = 0
    refused: int = 0

    def down(self, link: LinkName, at_s: float) -> bool:
        """Every second day, at half past two in the afternoon, for four polls."""
        lasts_s = 4 * self.pace.status_s
        return link == SHORE and at_s // DAY_S % 2 == 0 and 0 <= at_s % DAY_S - 52_200 < lasts_s

    def restarts(self, switch: SwitchName, at_s: float) -> bool:
        """Once a week, at two at night, for two polls."""
        lasts_s = 2 * self.pace.status_s
        return switch == PUMP and at_s // DAY_S % 7 == 0 and 0 <= at_s % DAY_S - 7_200 < lasts_s

    def booted_s(self, switch: SwitchName, at_s: float) -> float:
        if switch != PUMP:
            return -900_000.0
        week = at_s // DAY_S // 7 * 7 * DAY_S + 7_200 + 2 * self.pace.status_s
        return float(week if at_s >= week else week - 7 * DAY_S)

    def changed_s(self, switch: SwitchName, link: LinkName, at_s: float) -> float:
        """When the port last went up or down; a restart counts."""
        edges = [self.booted_s(switch, at_s)]
        if link == SHORE:
            flap, lasts_s = at_s // DAY_S // 2 * 2 * DAY_S + 52_200, 4 * self.pace.status_s
            edges += [
                e for e in (flap - 2 * DAY_S + lasts_s, flap, flap + lasts_s) if 0 <= e <= at_s
            ]
        return max(edges)

    def light(self, where: LinkEnd, at_s: float) -> OpticalReading:
        turn = math.sin(2 * math.pi * at_s / DAY_S)
        noise = math.modf(math.sin(at_s * 12.9898 + int(where.end) * 78.2) * 43758.5453)[0]
        loss_db = 3.0 + 0.05 * turn + 0.02 * noise
        if where.link == QUAY:
            loss_db += 0.04 * max(0.0, at_s / DAY_S - 1)
        tx_dbm = -5.5 + 0.02 * turn
        rx: Power = Measured(Dbm(round(tx_dbm - loss_db, 3)))
        return OpticalReading(
            rx=NO_LIGHT if self.down(where.link, at_s) else rx,
            tx=Measured(Dbm(round(tx_dbm, 3))),
            bias_ma=round(18 + turn + 0.1 * noise, 3),
            temp_c=round(32 + 6 * turn, 2),
            vcc_v=3.3,
        )

    def row(self, switch: SwitchName, where: LinkEnd, now_ms: int, *, optics: bool) -> EndRow:
        at_s = now_ms / 1000 - START_S
        booted_s = self.booted_s(switch, at_s)
        lit = 1 + int(at_s) % 7
        fresh = min(at_s - booted_s, at_s) < self.pace.status_s
        return EndRow(
            time_ms=now_ms,
            end=where.end,
            optics=self.light(where, at_s) if optics else None,
            oper=OperStatus.DOWN if self.down(where.link, at_s) else OperStatus.UP,
            admin=AdminStatus.UP,
            uptime_cs=int((at_s - booted_s) * 100),
            last_change_cs=int((self.changed_s(switch, where.link, at_s) - booted_s) * 100),
            deltas=Deltas()
            if fresh
            else Deltas(
                in_octets=6000 * lit,
                out_octets=5000 * lit,
                in_frames=10 * lit,
                fcs_errors=0,
                symbol_errors=0,
            ),
        )

    async def send(self, _target: Target, _message: Message, _resolve: object) -> Delivery:
        """Out of reach from noon to six in the evening of every second day, flaps included."""
        at_s = self.clock.monotonic()
        await asyncio.sleep(0.5)
        if at_s // DAY_S % 2 == 0 and 43_200 <= at_s % DAY_S < 64_800:
            self.refused += 1
            return failed("out of reach")
        self.messages += 1
        return DELIVERED


class NoClient:
    """In the place of snmp.session.SnmpClient: nobody is asked."""

    def __init__(self, _targets: object) -> None:
        pass

    async def start(self) -> None:
        pass

    async def close(self) -> None:
        pass


class PlantPoller:
    """In the place of jobs.poll_switch.SwitchPoller."""

    optics_refresh_s: float | None = None

    def __init__(
        self,
        plant: Plant,
        _client: object,
        switch: SwitchName,
        ends: Mapping[LinkEnd, PortName],
        *,
        turns: object,
    ) -> None:
        del turns
        self._plant = plant
        self._switch = switch
        self._ports = {
            where: PortIdentity(port=port, if_index=number, reader="plant")
            for number, (where, port) in enumerate(ends.items(), 1)
        }

    async def poll(self, now_ms: int, *, optics: bool) -> SwitchPoll:
        plant, switch = self._plant, self._switch
        plant.status[switch] += 1
        plant.optics[switch] += optics
        await asyncio.sleep(POLL_TAKES_S)
        if plant.restarts(switch, now_ms / 1000 - START_S):
            rows = tuple(
                (where, EndRow(time_ms=now_ms, end=where.end, answered=False))
                for where in self._ports
            )
            return SwitchPoll(
                switch=switch, time_ms=now_ms, answered=False, error="it restarts", rows=rows
            )
        return SwitchPoll(
            switch=switch,
            time_ms=now_ms,
            answered=True,
            round_trip_ms=50.0,
            ports=self._ports,
            rows=tuple(
                (where, plant.row(switch, where, now_ms, optics=optics)) for where in self._ports
            ),
        )
