"""One switch polled for as long as the daemon runs: rows for every link end on it, always.

The poller holds what must last from poll to poll: which row a port is, which objects its row has,
the counters' last values, the switch's clock. An answer is proved before it is used: sysUpTime in
every request tells a restart, the port's name asked beside its values tells whose they are. The
light is asked by poll_optics.py, in a request of its own.
"""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.bind_switch import BoundPort, BoundSwitch, bind_switch
from strandkeeper.jobs.ping_link import LinkPinger
from strandkeeper.jobs.poll_optics import OpticsPoller
from strandkeeper.jobs.rebinding import RebindReason, RebindTimes
from strandkeeper.jobs.status_answer import StatusAnswer
from strandkeeper.jobs.walk_turns import WalkTurns
from strandkeeper.model.names import End, PortName, SwitchName
from strandkeeper.model.oid import Oid, Value, as_int
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchIdentity, SwitchPoll
from strandkeeper.model.reading import Deltas, EndRow, OperStatus
from strandkeeper.readers import interfaces, power_supply
from strandkeeper.readers.base import Sample
from strandkeeper.readers.counters import Counters, CounterState, advance_counters
from strandkeeper.readers.interfaces import PortStatus, status_oids
from strandkeeper.readers.uptime import restarted
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.sizes import Group

__all__ = ["SwitchPoller"]

log = logging.getLogger(__name__)

_POWER_EVERY_S = 60.0  # supplies change slowly, and ports refused power are counted
_CLOCK: Oid = interfaces.SYS_UP_TIME


@dataclass(slots=True)
class _EndMemory:
    """What one port's status leaves behind for the next poll; of its module: OpticsPoller."""

    counters: CounterState = field(default_factory=CounterState)
    last_change_cs: int | None = None
    speed_mbps: int | None = None


class SwitchPoller:
    """Polls one switch. `poll` never raises DeviceError: a failure becomes rows that say so."""

    def __init__(
        self,
        client: SnmpClient,
        switch: SwitchName,
        ends: Mapping[LinkEnd, PortName],
        *,
        clock: Callable[[], float] = time.monotonic,
        turns: WalkTurns | None = None,
    ) -> None:
        self._client = client
        self._turns = turns
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
        self._power: PowerSupply | None = None
        self._power_due_s = 0.0
        self._light = OpticsPoller(client, switch, self._wanted, clock)
        self._pingers = {
            LinkEnd(p.link, p.end): LinkPinger(p.address, p.octets, clock)
            for p in client.target(switch).pings
        }

    @property
    def optics_refresh_s(self) -> float | None:
        """How often the switch renews its light figures, in s, once that is known."""
        return self._light.refresh_s

    async def poll(self, now_ms: int, *, optics: bool) -> SwitchPoll:
        """Ask the switch. `now_ms` is record time; `optics` asks for the light figures as well."""
        try:
            poll = await self._poll(now_ms, optics=optics)
        except DeviceError as error:
            return await self._pinged(self._unanswered(now_ms, error))
        if self._misses:
            log.info("switch answers again switch=%s after_misses=%d", self._switch, self._misses)
        self._misses = 0
        return await self._pinged(poll)

    async def _pinged(self, poll: SwitchPoll) -> SwitchPoll:
        """The poll with what pings say, whether the switch answers or not; none a link at once."""
        if not self._pingers:
            return poll
        said = await asyncio.gather(*(pinger.pings() for pinger in self._pingers.values()))
        return replace(poll, pings=dict(zip(self._pingers, said, strict=True)))

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
            samples |= await self._light.commanded(bound)
            await self._ask_power(bound)
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
            power=self._power,
        )

    async def _ask_power(self, bound: BoundSwitch) -> None:
        """How it is fed, where it publishes that: evidence, so a failure costs nothing else."""
        now_s = self._clock()
        if not bound.power_oids or now_s < self._power_due_s:
            return
        self._power_due_s = now_s + _POWER_EVERY_S
        try:
            answer = await self._client.get(self._switch, bound.power_oids)
        except DeviceError:
            return
        tables: dict[Oid, dict[Oid, Value]] = {
            column: {
                o[len(column) :]: v for o, v in answer.values.items() if o[: len(column)] == column
            }
            for column in power_supply.COLUMNS
        }
        self._power = power_supply.power_supply(tables, answer.values)

    # -- binding ---------------------------------------------------------------------------------

    async def _bind(self, reasons: frozenset[RebindReason]) -> BoundSwitch:
        """Walk the switch; until that succeeds the old ties are not used."""
        before, self._bound = self._bound, None
        bound = await bind_switch(self._client, self._switch, self._wanted, self._turns)
        changed = before is None or _ties(before) != _ties(bound)
        self._times.bound(reasons or _AT_FIRST, self._clock(), changed=changed)
        self._pending.clear()
        for name, port in bound.ports.items():
            memory = self._memory[name]
            earlier = None if before is None else before.ports.get(name)
            if earlier is None or earlier.if_index != port.if_index:
                memory.counters = CounterState()
            memory.speed_mbps = port.speed_mbps or memory.speed_mbps
        self._light.tied(bound)
        if reasons:
            why = ", ".join(sorted(r.value for r in reasons))
            log.info("switch was walked again switch=%s why=%s", self._switch, why)
        self._bound = bound
        return bound

    def _why_rebind(self, bound: BoundSwitch, seen: StatusAnswer) -> frozenset[RebindReason]:
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
        if bound.optics_unread:
            reasons.add(RebindReason.UNREAD)
        if any(self._may_have_a_module_now(n, p, seen) for n, p in bound.ports.items()):
            reasons.add(RebindReason.PORT)
        return frozenset(r for r in reasons if self._times.allowed(r, seen.at_s))

    def _may_have_a_module_now(self, name: PortName, port: BoundPort, seen: StatusAnswer) -> bool:
        """A port without sensors whose state changed: a module may have been put in."""
        status, before = seen.ports.get(name), self._memory[name].last_change_cs
        if port.optics is not None or status is None or before is None:
            return False
        return status.last_change_cs != before

    def _restarted(self, seen: StatusAnswer) -> bool:
        if self._uptime is None:
            return False
        before_cs, at_s = self._uptime
        return restarted(before_cs, seen.uptime_cs, seen.at_s - at_s)

    # -- state and counters ----------------------------------------------------------------------

    async def _status(self, bound: BoundSwitch) -> StatusAnswer:
        groups: list[Oid | Group] = []
        if bound.table_change is not None:
            groups.append(interfaces.IF_TABLE_LAST_CHANGE)
        groups += [Group(*status_oids(port.columns)) for port in bound.ports.values()]
        answer = await self._client.get(self._switch, groups, each=(_CLOCK,))
        return StatusAnswer.of(answer, bound)

    async def _renew_speeds(self, bound: BoundSwitch, seen: StatusAnswer) -> None:
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

    def _deltas(self, port: BoundPort, seen: StatusAnswer, name: PortName, restart: bool) -> Deltas:
        status, memory = seen.ports[name], self._memory[name]
        counters = Counters(
            at_s=seen.port_at_s[name],
            counts=status.counts,
            discontinuity_cs=status.discontinuity_cs,
            speed_mbps=memory.speed_mbps,
            whole_frames=port.columns.whole_frames,
            uptime_cs=seen.uptime_cs,
        )
        memory.counters, deltas = advance_counters(memory.counters, counters, restarted=restart)
        memory.last_change_cs = status.last_change_cs
        return deltas

    # -- optics ----------------------------------------------------------------------------------

    async def _optics(self, bound: BoundSwitch) -> tuple[BoundSwitch, dict[PortName, Sample]]:
        """Ask the light figures; walk again first if they are not what they were tied to."""
        samples, reasons = await self._light.ask(bound)
        now_s = self._clock()
        allowed = frozenset(r for r in reasons if self._times.allowed(r, now_s))
        if allowed:
            bound = await self._bind(allowed)
            samples, reasons = await self._light.ask(bound)
        self._pending |= reasons
        return bound, samples

    # -- what is handed on -----------------------------------------------------------------------

    def _rows(
        self,
        now_ms: int,
        bound: BoundSwitch,
        seen: StatusAnswer,
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
        self,
        name: PortName,
        port: BoundPort,
        seen: StatusAnswer,
        sample: Sample | None,
        restart: bool,
    ) -> EndRow:
        status = seen.ports[name]
        return EndRow(
            time_ms=0,
            end=_ANY_END,
            optics=self._light.reading(name, sample, seen.at_s),
            oper=self._oper(name, status),
            admin=status.admin,
            last_change_cs=status.last_change_cs,
            media=status.media,
            module_id=self._light.module_id(name),
            deltas=self._deltas(port, seen, name, restart),
        )

    def _oper(self, name: PortName, status: PortStatus) -> OperStatus | None:
        """The state of a port; without its module it is not present, whatever word the switch has.

        Many switches say down(2) of it. A port that is up has a module, whatever its sensors say.
        """
        if self._light.is_pulled(name) and status.oper not in (OperStatus.UP, None):
            return OperStatus.NOT_PRESENT
        return status.oper

    def _identities(self, bound: BoundSwitch) -> dict[LinkEnd, PortIdentity]:
        found: dict[LinkEnd, PortIdentity] = {}
        for end, name in self._ends.items():
            port, memory = bound.ports.get(name), self._memory[name]
            if port is None:
                continue
            reader, remarks = self._light.origin(name, port, bound)
            module = self._light.facts(name, port)
            found[end] = PortIdentity(
                port=name,
                if_index=port.if_index,
                named_by=port.named_by,
                reader=reader,
                errors_from=port.columns.errors_from,
                mau_type=port.mau_type,
                speed_mbps=memory.speed_mbps,
                module_id=self._light.module_id(name),
                module_maker=module.maker,
                module_part=module.part,
                module_wavelength_nm=module.wavelength_nm,
                remarks=remarks,
            )
        return found


_ANY_END = End.A  # replaced before the row is handed on
_AT_FIRST = frozenset(  # just looked for: not again at the next poll
    {RebindReason.MISSING, RebindReason.UNREAD}
)


def _ties(bound: BoundSwitch) -> object:
    """What a walk is for: which rows and which sensors belong to which port."""
    return {
        name: (p.if_index, p.columns, None if p.optics is None else p.optics.oids)
        for name, p in bound.ports.items()
    }
