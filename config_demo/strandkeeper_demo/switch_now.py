"""One simulated switch at one instant: everything its tables are filled from."""

from __future__ import annotations

from enum import IntEnum

from strandkeeper.model.link import Link
from strandkeeper.model.names import PortName
from strandkeeper.model.reading import Media, OperStatus
from strandkeeper_demo.plant import Boot, Counts, Plant
from strandkeeper_demo.station import Port, Switch
from strandkeeper_demo.traffic import PortCounters, Traffic

__all__ = ["Sensor", "SwitchNow"]


class Sensor(IntEnum):
    """The five figures of a module, in the order of SFF-8472."""

    TEMPERATURE = 1
    SUPPLY = 2
    BIAS = 3
    TX = 4
    RX = 5


class SwitchNow:
    """The switch at `time_s`; figures are worked out when asked for, and once."""

    def __init__(
        self, switch: Switch, plant: Plant, traffic: Traffic, *, time_s: float, boot: Boot
    ) -> None:
        self.switch = switch
        self.time_s = time_s
        self.boot = boot
        self._plant = plant
        self._traffic = traffic
        self._counts: dict[PortName, Counts | None] = {}
        self._counters: dict[PortName, PortCounters] = {}

    @property
    def uptime_cs(self) -> int:
        """sysUpTime: hundredths of a second since the start, 32 bits."""
        return self._cs(self.time_s)

    @property
    def refreshed_s(self) -> float:
        """When the switch last read its modules."""
        every = self.switch.dialect.refresh_s
        return max(self.boot.time_s, self.time_s - self.time_s % every)

    @property
    def refreshed_cs(self) -> int:
        """The same on the clock of sysUpTime."""
        return self._cs(self.refreshed_s)

    @property
    def entities_changed_cs(self) -> int:
        """entLastChangeTime: when a module was last touched, 0 if never since the start."""
        touched = self._plant.meddling.modules_touched
        times = [t for (switch, _), t in touched.items() if switch == self.switch.name]
        return max([0, *(self._cs(t) for t in times)])

    def air_c(self) -> float:
        """What the sensor in the chassis shows, in °C."""
        return self._plant.weather.around_c(self.switch, self.refreshed_s)

    def present(self, port: Port) -> bool:
        """Whether there is something in the port to plug a cable into."""
        return not port.optical or self._plant.module(self.switch, port) is not None

    def counts(self, port: Port) -> Counts:
        """What the module in a port says. Raises KeyError for an empty slot."""
        if port.name not in self._counts:
            self._counts[port.name] = self._plant.counts(self.switch, port, self.refreshed_s)
        counts = self._counts[port.name]
        if counts is None:
            raise KeyError(port.name)
        return counts

    def counters(self, port: Port) -> PortCounters:
        """What a port has counted since the start."""
        if port.name not in self._counters:
            self._counters[port.name] = self._traffic.counters(
                self.switch.name, port.name, self.time_s, self.boot.time_s
            )
        return self._counters[port.name]

    def oper(self, port: Port) -> OperStatus:
        """The port's ifOperStatus."""
        if not self.present(port):
            return OperStatus.NOT_PRESENT
        link = self._link(port)
        if link is None:
            return OperStatus.DOWN if port.optical else OperStatus.UP
        up = self._plant.link_is_up(link, self.time_s)
        return OperStatus.UP if up else OperStatus.DOWN

    def last_change_cs(self, port: Port) -> int:
        """Its ifLastChange: 0 if the state is older than the last start (RFC 2863)."""
        link = self._link(port)
        edge = self._plant.last_change(link, self.time_s) if link else None
        return 0 if edge is None else self._cs(edge)

    def media(self, port: Port) -> Media:
        """Its ifMauMediaAvailable (RFC 4836): no light here, or light but a fault there."""
        link, where = self._link(port), self._plant.where(self.switch.name, port.name)
        if link is None or where is None:
            return Media.NOT_AVAILABLE if port.optical else Media.AVAILABLE
        if self._plant.link_is_up(link, self.time_s):
            return Media.AVAILABLE
        lit = self._plant.arriving(link, where.end, self.time_s) is not None
        return Media.REMOTE_FAULT if lit else Media.NOT_AVAILABLE

    def _link(self, port: Port) -> Link | None:
        where = self._plant.where(self.switch.name, port.name)
        return where.link if where else None

    def _cs(self, time_s: float) -> int:
        return int(max(0.0, time_s - self.boot.time_s) * 100) % 2**32
