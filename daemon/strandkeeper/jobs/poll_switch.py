"""One switch polled for as long as the daemon runs: rows for every link end on it, always.

The poller holds what must last from poll to poll: which row a port is, which objects its row has,
the counters' last values, the switch's clock. An answer is proved before it is used: sysUpTime in
every request tells a restart, the port's name asked beside its values tells whose they are. State
and optics go in separate requests, so that a sensor service that hangs spoils only itself.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.bind_switch import BoundPort, BoundSwitch, bind_switch
from strandkeeper.jobs.rebinding import RebindReason, RebindTimes
from strandkeeper.model.names import End, PortName, SwitchName
from strandkeeper.model.oid import Absent, Oid, Value, as_int, as_text
from strandkeeper.model.poll import LinkEnd, PortIdentity, SwitchIdentity, SwitchPoll
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.readers import interfaces
from strandkeeper.readers.base import ModuleState, Sample
from strandkeeper.readers.counters import Counters, CounterState, advance_counters
from strandkeeper.readers.interfaces import PortStatus, decode_status, status_oids
from strandkeeper.readers.refresh import RefreshClock
from strandkeeper.readers.uptime import restarted
from strandkeeper.snmp.session import Answer, SnmpClient
from strandkeeper.snmp.sizes import Group

__all__ = ["SwitchPoller"]

log = logging.getLogger(__name__)

_SAME_SAMPLE_S = 75.0  # an unrenewed figure is given again before it would count as missing (90 s)
_CLOCK: Oid = interfaces.SYS_UP_TIME


@dataclass(slots=True)
class _EndMemory:
    """What one port's polls leave behind for the next."""

    counters: CounterState = field(default_factory=CounterState)
    last_change_cs: int | None = None
    speed_mbps: int | None = None
    module: ModuleState = ModuleState.UNKNOWN
    module_id: str | None = None
    sampled_cs: int | None = None
    samples_move: bool = False
    given_s: float = 0.0
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """The status answer of one poll, split up by port and proved.

    `ports` holds only ports whose name came with their values and fits; `strangers` those whose
    row now bears another name or none. `regressed`: the switch restarted within the answer.
    """

    answer: Answer
    at_s: float
    uptime_cs: int | None
    regressed: bool
    ports: Mapping[PortName, PortStatus]
    port_at_s: Mapping[PortName, float]
    strangers: frozenset[PortName]

    @staticmethod
    def of(answer: Answer, bound: BoundSwitch) -> _Seen:
        """Split an answer up."""
        uptimes = [u for p in answer.parts if (u := as_int(p.values.get(_CLOCK))) is not None]
        ports: dict[PortName, PortStatus] = {}
        port_at_s: dict[PortName, float] = {}
        strangers: set[PortName] = set()
        for name, port in bound.ports.items():
            key, _ = status_oids(port.columns)
            pieces = [p for p in answer.parts if key in p.values]
            names = {_name_of(p.values[key]) for p in pieces}
            if names == {port.expected_name}:
                ports[name] = decode_status(port.columns, answer.values)
                port_at_s[name] = (pieces[0].sent_s + pieces[0].received_s) / 2
            elif names - {None}:
                strangers.add(name)
        first = answer.parts[0]
        return _Seen(
            answer=answer,
            at_s=(first.sent_s + first.received_s) / 2,
            uptime_cs=uptimes[-1] if uptimes else None,
            regressed=any(later < earlier for earlier, later in pairwise(uptimes)),
            ports=ports,
            port_at_s=port_at_s,
            strangers=frozenset(strangers),
        )


def _name_of(value: Value) -> str | None:
    """The name in an answer; empty if the row has gone; None if nothing was said."""
    if value is Absent.NOT_ANSWERED or value is Absent.FAILED:
        return None
    return as_text(value)


class SwitchPoller:
    """Polls one switch. `poll` never raises DeviceError: a failure becomes rows that say so."""

    def __init__(
        self,
        client: SnmpClient,
        switch: SwitchName,
        ends: Mapping[LinkEnd, PortName],
        *,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._client = client
        self._switch = switch
        self._ends = dict(ends)
        self._wanted = tuple(dict.fromkeys(ends.values()))
        self._clock = clock
        self._bound: BoundSwitch | None = None
        self._times = RebindTimes()
        self._memory: dict[PortName, _EndMemory] = {name: _EndMemory() for name in self._wanted}
        self._uptime: tuple[int, float] | None = None
        self._pending: set[RebindReason] = set()
        self._misses = 0
        self._refresh = RefreshClock()

    @property
    def optics_refresh_s(self) -> float | None:
        """How often the switch renews its light figures, in s, once that is known."""
        return self._refresh.interval_s

    async def poll(self, now_ms: int, *, optics: bool) -> SwitchPoll:
        """Ask the switch. `now_ms` is record time; `optics` asks for the light figures as well."""
        try:
            poll = await self._poll(now_ms, optics=optics)
        except DeviceError as error:
            return self._unanswered(now_ms, error)
        if self._misses:
            log.info("switch answers again switch=%s after_misses=%d", self._switch, self._misses)
        self._misses = 0
        return poll

    def _unanswered(self, now_ms: int, error: DeviceError) -> SwitchPoll:
        self._misses += 1
        if self._misses == 1:
            log.warning("switch did not answer switch=%s why=%s", self._switch, error.message)
        rows = tuple(
            (end, EndRow(time_ms=now_ms, end=end.end, answered=False)) for end in self._ends
        )
        known = self._bound
        return SwitchPoll(
            switch=self._switch,
            time_ms=now_ms,
            answered=False,
            error=error.message,
            hint=error.hint,
            rows=rows,
            identity=SwitchIdentity() if known is None else known.identity,
            known_ports=() if known is None else known.known,
        )

    async def _poll(self, now_ms: int, *, optics: bool) -> SwitchPoll:
        if self._misses:
            await self._client.probe(self._switch)
        bound = self._bound or await self._bind(frozenset())
        seen = await self._status(bound)
        reasons = self._why_rebind(bound, seen)
        if reasons:
            bound = await self._bind(reasons)
            seen = await self._status(bound)
        await self._renew_speeds(bound, seen)
        samples: dict[PortName, Sample] = {}
        if optics:
            bound, samples = await self._optics(bound)
        again = RebindReason.RESTART in reasons
        rows = self._rows(now_ms, bound, seen, samples, restarted_now=again)
        if seen.uptime_cs is not None:
            self._uptime = (seen.uptime_cs, seen.at_s)
        return SwitchPoll(
            switch=self._switch,
            time_ms=now_ms,
            answered=True,
            round_trip_ms=seen.answer.round_trip_ms,
            restarted=again,
            renumbered=RebindReason.NAMES in reasons,
            uptime_cs=seen.uptime_cs,
            identity=bound.identity,
            ports=self._identities(bound),
            missing_ports=bound.missing,
            known_ports=bound.known,
            rows=rows,
        )

    # -- binding ---------------------------------------------------------------------------------

    async def _bind(self, reasons: frozenset[RebindReason]) -> BoundSwitch:
        """Walk the switch; until that succeeds the old ties are not used."""
        before, self._bound = self._bound, None
        bound = await bind_switch(self._client, self._switch, self._wanted)
        changed = before is None or _ties(before) != _ties(bound)
        self._times.bound(reasons or frozenset(RebindReason), self._clock(), changed=changed)
        self._pending.clear()
        for name, port in bound.ports.items():
            memory = self._memory[name]
            earlier = None if before is None else before.ports.get(name)
            if earlier is None or earlier.if_index != port.if_index:
                memory.counters = CounterState()
            memory.speed_mbps = port.speed_mbps or memory.speed_mbps
            memory.remark = ""
        if reasons:
            why = ", ".join(sorted(r.value for r in reasons))
            log.info("switch was walked again switch=%s why=%s", self._switch, why)
        self._bound = bound
        return bound

    def _why_rebind(self, bound: BoundSwitch, seen: _Seen) -> frozenset[RebindReason]:
        reasons = set(self._pending) | {RebindReason.DAILY}
        if seen.regressed or self._restarted(seen):
            reasons.add(RebindReason.RESTART)
        if seen.strangers:
            reasons.add(RebindReason.NAMES)
        moved = as_int(seen.answer.values.get(interfaces.IF_TABLE_LAST_CHANGE))
        if moved is not None and moved != bound.table_change:
            reasons.add(RebindReason.TABLE)
        if bound.missing:
            reasons.add(RebindReason.MISSING)
        return frozenset(r for r in reasons if self._times.allowed(r, seen.at_s))

    def _restarted(self, seen: _Seen) -> bool:
        if self._uptime is None:
            return False
        before_cs, at_s = self._uptime
        return restarted(before_cs, seen.uptime_cs, seen.at_s - at_s)

    # -- state and counters ----------------------------------------------------------------------

    async def _status(self, bound: BoundSwitch) -> _Seen:
        groups: list[Oid | Group] = []
        if bound.table_change is not None:
            groups.append(interfaces.IF_TABLE_LAST_CHANGE)
        groups += [Group(*status_oids(port.columns)) for port in bound.ports.values()]
        answer = await self._client.get(self._switch, groups, each=(_CLOCK,))
        return _Seen.of(answer, bound)

    async def _renew_speeds(self, bound: BoundSwitch, seen: _Seen) -> None:
        """Ask the speed of ports that came up or renegotiated since the last poll."""
        changed = [
            port.if_index
            for name, port in bound.ports.items()
            if (status := seen.ports.get(name)) is not None
            and status.oper is OperStatus.UP
            and status.last_change_cs != self._memory[name].last_change_cs
            and self._memory[name].last_change_cs is not None
        ]
        if not changed:
            return
        columns = (interfaces.IF_HIGH_SPEED, interfaces.IF_SPEED)
        try:
            answer = await self._client.get(
                self._switch, [(*column, row) for row in changed for column in columns]
            )
        except DeviceError:
            return  # the speed only guards the counters; the next change asks again
        for name, port in bound.ports.items():
            speed = interfaces.speed_mbps(answer.values, port.if_index)
            if port.if_index in changed and speed is not None:
                self._memory[name].speed_mbps = speed

    def _deltas(self, port: BoundPort, seen: _Seen, name: PortName, restart: bool) -> Deltas:
        status, memory = seen.ports[name], self._memory[name]
        counters = Counters(
            at_s=seen.port_at_s[name],
            counts=status.counts,
            discontinuity_cs=status.discontinuity_cs,
            speed_mbps=memory.speed_mbps,
            whole_frames=port.columns.whole_frames,
        )
        memory.counters, deltas = advance_counters(memory.counters, counters, restarted=restart)
        memory.last_change_cs = status.last_change_cs
        return deltas

    # -- optics ----------------------------------------------------------------------------------

    async def _optics(self, bound: BoundSwitch) -> tuple[BoundSwitch, dict[PortName, Sample]]:
        """Ask the light figures; walk again first if they are not what they were tied to."""
        samples, reasons = await self._samples(bound)
        now_s = self._clock()
        allowed = frozenset(r for r in reasons if self._times.allowed(r, now_s))
        if allowed:
            bound = await self._bind(allowed)
            samples, _ = await self._samples(bound)
        self._pending |= reasons - allowed
        return bound, samples

    async def _samples(
        self, bound: BoundSwitch
    ) -> tuple[dict[PortName, Sample], frozenset[RebindReason]]:
        readers = {n: p.optics for n, p in bound.ports.items() if p.optics is not None}
        if not readers:
            return {}, frozenset()
        asked: list[Oid | Group] = [Group(None, r.oids) for r in readers.values()]
        if bound.entity_change is not None:
            asked.append(interfaces.ENT_LAST_CHANGE)
        try:
            answer = await self._client.get(self._switch, asked, each=(_CLOCK,))
        except DeviceError as error:
            for name in readers:
                self._memory[name].remark = f"light not read: {error.message}"
            return {}, frozenset()
        samples = {name: reader.decode(answer.values) for name, reader in readers.items()}
        figures = tuple(answer.values[oid] for r in readers.values() for oid in r.oids)
        self._refresh.feed(self._clock(), figures)
        reasons = set()
        moved = as_int(answer.values.get(interfaces.ENT_LAST_CHANGE))
        if moved is not None and moved != bound.entity_change:
            reasons.add(RebindReason.ENTITIES)
        await self._note_modules(bound, samples, reasons)
        return samples, frozenset(reasons)

    async def _note_modules(
        self, bound: BoundSwitch, samples: Mapping[PortName, Sample], reasons: set[RebindReason]
    ) -> None:
        """Tell a module that was pulled from a sensor service that is down; notice new ones."""
        alive: bool | None = None
        for name, sample in samples.items():
            memory = self._memory[name]
            memory.remark = ""
            if sample.module is ModuleState.GONE:
                alive = await self._sensors_live(bound) if alive is None else alive
                memory.remark = _NO_MODULE if alive else _NO_SENSORS
                memory.module_id = None
                reasons.add(RebindReason.MODULE)
            elif sample.module_id is not None:
                if memory.module_id not in (None, sample.module_id):
                    reasons.add(RebindReason.MODULE)
                memory.module_id = sample.module_id
            if sample.rebind:
                reasons.add(RebindReason.MODULE)

    async def _sensors_live(self, bound: BoundSwitch) -> bool:
        if bound.optics_probe is None:
            return False
        try:
            return bool(
                (await self._client.walk(self._switch, bound.optics_probe, max_rows=1)).rows
            )
        except DeviceError:
            return False

    def _reading(self, name: PortName, sample: Sample | None, at_s: float) -> OpticalReading | None:
        """The reading to give, None if the switch has not renewed the one that was given."""
        if sample is None or sample.reading is None:
            return None
        memory = self._memory[name]
        if sample.sampled_cs is not None and memory.sampled_cs is not None:
            renewed = sample.sampled_cs != memory.sampled_cs
            memory.samples_move = memory.samples_move or renewed
            if memory.samples_move and not renewed and at_s - memory.given_s < _SAME_SAMPLE_S:
                return None
        memory.sampled_cs, memory.given_s = sample.sampled_cs, at_s
        return sample.reading

    # -- what is handed on -----------------------------------------------------------------------

    def _rows(
        self,
        now_ms: int,
        bound: BoundSwitch,
        seen: _Seen,
        samples: Mapping[PortName, Sample],
        *,
        restarted_now: bool,
    ) -> tuple[tuple[LinkEnd, EndRow], ...]:
        """A row for every link end; a port whose name was not proved gives the uptime alone."""
        made = {
            name: self._row(name, bound.ports[name], seen, samples.get(name), restarted_now)
            for name in seen.ports
        }
        nothing = EndRow(time_ms=now_ms, end=_ANY_END)
        return tuple(
            (
                end,
                replace(
                    made.get(name, nothing),
                    time_ms=now_ms,
                    end=end.end,
                    uptime_cs=seen.uptime_cs,
                ),
            )
            for end, name in self._ends.items()
        )

    def _row(
        self, name: PortName, port: BoundPort, seen: _Seen, sample: Sample | None, restart: bool
    ) -> EndRow:
        status = seen.ports[name]
        return EndRow(
            time_ms=0,
            end=_ANY_END,
            optics=self._reading(name, sample, seen.at_s),
            oper=status.oper,
            admin=status.admin,
            last_change_cs=status.last_change_cs,
            media=status.media,
            module_id=self._memory[name].module_id,
            deltas=self._deltas(port, seen, name, restart),
        )

    def _identities(self, bound: BoundSwitch) -> dict[LinkEnd, PortIdentity]:
        found: dict[LinkEnd, PortIdentity] = {}
        for end, name in self._ends.items():
            port, memory = bound.ports.get(name), self._memory[name]
            if port is None:
                continue
            remarks = (*port.remarks, *bound.remarks, memory.remark)
            found[end] = PortIdentity(
                port=name,
                if_index=port.if_index,
                named_by=port.named_by,
                reader=port.reader,
                errors_from=port.columns.errors_from,
                mau_type=port.mau_type,
                speed_mbps=memory.speed_mbps,
                module_id=memory.module_id,
                remarks=tuple(dict.fromkeys(r for r in remarks if r)),
            )
        return found


_ANY_END = End.A  # replaced before the row is handed on
_NO_MODULE = "no module in the port, or one that has stopped reporting"
_NO_SENSORS = (
    "the switch shows no sensors at all now: its sensor service is down, or this credential "
    "may no longer see them"
)


def _ties(bound: BoundSwitch) -> object:
    """What a walk is for: which rows and which sensors belong to which port."""
    return {
        name: (p.if_index, p.columns, None if p.optics is None else p.optics.oids)
        for name, p in bound.ports.items()
    }
