"""The light of one switch's ports: asked in a request of its own, proved, remembered by module.

State and optics go in separate requests, so that a sensor service that hangs spoils only itself.
What lasts from poll to poll is which module was in a port, whether the switch has renewed the
figure that was given last, and how long its sensors are to be left alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.ask_command import COMMAND, CommandSource
from strandkeeper.jobs.bind_switch import NO_READINGS, BoundPort, BoundSwitch
from strandkeeper.jobs.rebinding import RebindReason
from strandkeeper.model.module import ModuleFacts, another_module
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.oid import Absent, Oid, as_int
from strandkeeper.model.reading import OpticalReading
from strandkeeper.readers import interfaces
from strandkeeper.readers.base import ModuleState, Sample
from strandkeeper.readers.refresh import RefreshClock
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.sizes import Group

__all__ = ["OpticsPoller"]

_SAME_SAMPLE_S = 75.0  # an unrenewed figure is given again before it would count as missing (90 s)
_LONGEST_REST_S = 120.0
_NO_MODULE = "no module in the port, or one that has stopped reporting"
_NO_SENSORS = (
    "the switch shows no sensors for the port any more, but does not show the module as gone: its "
    "sensor service is down, or this credential may no longer see them"
)


@dataclass(slots=True)
class _ModuleMemory:
    """What one port's light leaves behind for the next poll."""

    module_id: str | None = None
    facts: ModuleFacts | None = None  # as the last answer told them
    sampled_cs: int | None = None
    samples_move: bool = False
    given_s: float = 0.0
    remark: str = ""
    presence: Oid | None = None  # what the sensors that the port once had leave with
    had_optics: bool = False
    pulled: bool = False  # proved: the module is out of the port
    unsure: bool = False  # another module, and its units are not read yet


class OpticsPoller:
    """Reads the light of one switch. Never raises DeviceError: a failure becomes a remark."""

    def __init__(
        self,
        client: SnmpClient,
        switch: SwitchName,
        wanted: Iterable[PortName],
        clock: Callable[[], float],
    ) -> None:
        self._client = client
        self._switch = switch
        self._clock = clock
        self._memory = {name: _ModuleMemory() for name in wanted}
        self._refresh = RefreshClock()
        self._due_s = 0.0
        target = client.target(switch)
        self._command = CommandSource(target) if target.command else None

    @property
    def refresh_s(self) -> float | None:
        """How often the switch renews its light figures, in s, once that is known."""
        return self._refresh.interval_s

    def module_id(self, name: PortName) -> str | None:
        """Who made the module in a port and its number, as it says itself; None if unknown."""
        return self._memory[name].module_id

    def facts(self, name: PortName, port: BoundPort) -> ModuleFacts:
        """What the module in a port says of itself, as far as it was read."""
        told = self._memory[name].facts
        if told is not None:
            return told
        return ModuleFacts() if port.optics is None else port.optics.made

    def is_pulled(self, name: PortName) -> bool:
        """Whether it is proved that the port's module is out of it."""
        return self._memory[name].pulled

    def tied(self, bound: BoundSwitch) -> None:
        """The switch was walked: what its sensors are is known again."""
        for name, port in bound.ports.items():
            memory = self._memory[name]
            memory.remark, memory.unsure = "", False
            if port.optics is not None:
                memory.had_optics, memory.presence = True, port.optics.presence

    def origin(
        self, name: PortName, port: BoundPort, bound: BoundSwitch
    ) -> tuple[str, tuple[str, ...]]:
        """What gives the port's readings, by name, and all that is to be said of them."""
        reader, remarks = port.reader, (*port.remarks, *bound.remarks, self._memory[name].remark)
        if self._command is not None:
            if name in self._command.ports:
                reader, remarks = COMMAND, tuple(r for r in remarks if r != NO_READINGS)
            remarks = (*remarks, self._command.remark)
        return reader, tuple(dict.fromkeys(r for r in remarks if r))

    async def commanded(self, bound: BoundSwitch) -> dict[PortName, Sample]:
        """What the owner's command says; it outranks what the switch publishes."""
        if self._command is None:
            return {}
        samples = await self._command.samples(bound.ports.keys())
        for name, sample in samples.items():
            memory = self._memory[name]
            memory.remark, memory.unsure, memory.pulled = "", False, False
            memory.module_id = sample.module_id or memory.module_id
            memory.facts = sample.facts or memory.facts
        return samples

    async def ask(
        self, bound: BoundSwitch
    ) -> tuple[dict[PortName, Sample], frozenset[RebindReason]]:
        """The samples of all ports, and why the switch should be walked again, if it should."""
        readers = {n: p.optics for n, p in bound.ports.items() if p.optics is not None}
        began_s = self._clock()
        if began_s < self._due_s:
            return {}, frozenset()
        samples: dict[PortName, Sample] = {}
        reasons: set[RebindReason] = set()
        if readers:
            asked: list[Oid | Group] = [Group(None, r.oids) for r in readers.values()]
            if bound.entity_change is not None:
                asked.append(interfaces.ENT_LAST_CHANGE)
            try:
                answer = await self._client.get(self._switch, asked, each=(interfaces.SYS_UP_TIME,))
            except DeviceError as error:
                self._rest(began_s)
                for name in readers:
                    self._memory[name].remark = f"light not read: {error.message}"
                return {}, frozenset()
            if not answer.complete:
                self._rest(began_s)
            samples = {name: reader.decode(answer.values) for name, reader in readers.items()}
            figures = tuple(answer.values[oid] for r in readers.values() for oid in r.oids)
            self._refresh.feed(self._clock(), figures)
            moved = as_int(answer.values.get(interfaces.ENT_LAST_CHANGE))
            if moved is not None and moved != bound.entity_change:
                reasons.add(RebindReason.ENTITIES)
        for name in bound.ports.keys() - readers.keys():
            if self._memory[name].had_optics:
                samples[name] = Sample(reading=OpticalReading(), module=ModuleState.GONE)
        living = any(s.module is ModuleState.PRESENT for s in samples.values())
        for name, sample in samples.items():
            if await self._note_module(name, sample, living=living):
                reasons.add(RebindReason.MODULE)
        return samples, frozenset(reasons)

    def _rest(self, began_s: float) -> None:
        """Leave the sensors alone for a while after a failure that took long.

        So that a service that hangs gets a fifth of the time at most, and the state the others.
        """
        now_s = self._clock()
        self._due_s = now_s + min(_LONGEST_REST_S, 4 * (now_s - began_s))

    async def _note_module(self, name: PortName, sample: Sample, *, living: bool) -> bool:
        """Remember what an answer says of a module; True if the switch should be walked again.

        `living`: another module's sensors answered.
        """
        memory = self._memory[name]
        memory.remark, memory.pulled = "", False
        if sample.module is ModuleState.GONE:
            memory.pulled = living or await self._row_is_gone(memory.presence)
            memory.remark = _NO_MODULE if memory.pulled else _NO_SENSORS
            memory.module_id = memory.facts = None
            return True
        if sample.module_id is not None:
            memory.unsure = memory.unsure or another_module(memory.module_id, sample.module_id)
            memory.module_id = sample.module_id
            memory.facts = sample.facts
        return memory.unsure or sample.rebind

    async def _row_is_gone(self, presence: Oid | None) -> bool:
        """Whether a module's row is gone from a table that still has others."""
        if presence is None:
            return False
        try:
            answer = await self._client.get(self._switch, [presence])
            if answer.values[presence] not in (Absent.NO_SUCH_INSTANCE, Absent.NO_SUCH_OBJECT):
                return False
            table = await self._client.walk(self._switch, presence[:-1], max_rows=1)
        except DeviceError:
            return False
        return bool(table.rows)

    def reading(self, name: PortName, sample: Sample | None, at_s: float) -> OpticalReading | None:
        """The reading to give, None if the switch has not renewed the one that was given."""
        memory = self._memory[name]
        if sample is None or sample.reading is None or memory.unsure:
            return None
        if sample.sampled_cs is not None and memory.sampled_cs is not None:
            renewed = sample.sampled_cs != memory.sampled_cs
            memory.samples_move = memory.samples_move or renewed
            if memory.samples_move and not renewed and at_s - memory.given_s < _SAME_SAMPLE_S:
                return None
        memory.sampled_cs, memory.given_s = sample.sampled_cs, at_s
        return sample.reading
