"""Real SNMP agents in front of the simulated plant: UDP on loopback, v2c or v3, reading only.

Each switch has an SNMP engine of its own, for v3 knows a switch by its engine. The tables are
answered by a controller of ours: the library's own MIB machinery would cost more for less.
"""

from __future__ import annotations

import asyncio
import socket
import time
from collections.abc import Callable, Sequence
from typing import Any, Final

from pysnmp.carrier.asyncio.dgram import udp
from pysnmp.entity import config, engine
from pysnmp.entity.rfc3413 import cmdrsp, context
from pysnmp.proto import rfc1902, rfc1905
from pysnmp.smi import instrum

from strandkeeper.errors import OperatorError
from strandkeeper.model.names import SwitchName
from strandkeeper_demo.entity_mib import entity_rows
from strandkeeper_demo.interface_mib import interface_rows, system_rows
from strandkeeper_demo.mib import Cell, Mib, Syntax
from strandkeeper_demo.plant import Boot, Plant
from strandkeeper_demo.station import ENTERPRISE, Community, Switch
from strandkeeper_demo.switch_now import SwitchNow
from strandkeeper_demo.traffic import Traffic

__all__ = ["Agent", "StationAgents", "engine_id", "free_udp_port"]

_TYPES: Final[dict[Syntax, Any]] = {
    Syntax.INTEGER: rfc1902.Integer32,
    Syntax.TEXT: rfc1902.OctetString,
    Syntax.OID: rfc1902.ObjectIdentifier,
    Syntax.TICKS: rfc1902.TimeTicks,
    Syntax.COUNTER32: rfc1902.Counter32,
    Syntax.COUNTER64: rfc1902.Counter64,
    Syntax.GAUGE: rfc1902.Gauge32,
}

Clock = Callable[[], float]


def engine_id(switch: Switch) -> bytes:
    """The snmpEngineID (RFC 3411): enterprise with its first bit set, then our own text."""
    return (0x80000000 | ENTERPRISE).to_bytes(4) + b"\x04" + f"station-{switch.name}".encode()


class _Controller(instrum.AbstractMibInstrumController):  # type: ignore[misc]
    """Answers GET, GETNEXT and GETBULK from our tables."""

    def __init__(self, agent: Agent) -> None:
        self._agent = agent

    def read_variables(self, *varbinds: Any, **_: Any) -> list[tuple[Any, Any]]:
        mib, now = self._agent.tables()
        answers = []
        for name, _ in varbinds:
            cell = mib.get(tuple(name))
            if cell is not None:
                answers.append((name, _wire(cell, now)))
            else:
                known = mib.knows(tuple(name))
                answers.append((name, rfc1905.noSuchInstance if known else rfc1905.noSuchObject))
        return answers

    def read_next_variables(self, *varbinds: Any, **_: Any) -> list[tuple[Any, Any]]:
        mib, now = self._agent.tables()
        answers = []
        for name, _ in varbinds:
            row = mib.after(tuple(name))
            if row is None:
                answers.append((name, rfc1905.endOfMibView))
            else:
                answers.append((rfc1902.ObjectName(row[0]), _wire(row[1], now)))
        return answers


def _wire(cell: Cell, now: SwitchNow) -> Any:
    return _TYPES[cell.syntax](cell.read(now))


class _Transport(udp.UdpAsyncioTransport):  # type: ignore[misc]
    """UDP that can go deaf: nothing gets through, or what came waits until the switch thaws."""

    def __init__(self, hears: Callable[[], bool]) -> None:
        super().__init__()
        self._hears = hears
        self._waiting: list[tuple[bytes, Any]] | None = None

    def freeze(self) -> None:
        self._waiting = self._waiting or []

    def thaw(self) -> None:
        waiting, self._waiting = self._waiting or [], None
        for datagram, address in waiting:
            self.datagram_received(datagram, address)

    def datagram_received(self, datagram: bytes, address: Any) -> None:
        if self._waiting is not None:
            self._waiting.append((datagram, address))
        elif self._hears():
            super().datagram_received(datagram, address)


class Agent:
    """One simulated switch on the network."""

    def __init__(
        self, switch: Switch, plant: Plant, traffic: Traffic, *, port: int, clock: Clock = time.time
    ) -> None:
        self.switch = switch
        self.port = port
        self.requests = 0
        self._plant = plant
        self._traffic = traffic
        self._clock = clock
        self._by_hand: Boot | None = None
        self._mibs: dict[frozenset[str], Mib] = {}
        self._now: SwitchNow | None = None
        self._engine: Any = None
        self._transport: _Transport | None = None

    @property
    def address(self) -> tuple[str, int]:
        """Where it listens."""
        return self.switch.address, self.port

    def start(self) -> None:
        """Listen. Call inside a running event loop. Raises OperatorError if the port is taken."""
        wire = _bound(*self.address)
        self._engine = _engine_of(self.switch)
        self._set_engine_clock()
        self._transport = _Transport(self._hears)
        self._transport.open_server_mode(sock=wire)
        config.add_transport(self._engine, udp.DOMAIN_NAME, self._transport)
        _give_access(self._engine, self.switch)
        snmp_context = context.SnmpContext(self._engine)
        snmp_context.unregister_context_name(b"")
        snmp_context.register_context_name(b"", _Controller(self))
        for responder in (
            cmdrsp.GetCommandResponder,
            cmdrsp.NextCommandResponder,
            cmdrsp.BulkCommandResponder,
        ):
            responder(self._engine, snmp_context)

    def stop(self) -> None:
        """Stop listening."""
        if self._engine is not None:
            self._engine.close_dispatcher()
            self._engine = self._transport = None

    def restart(self) -> None:
        """Start over as after a crash: uptime and counters from zero, one more boot."""
        boot = self.boot()
        self._by_hand = Boot(time_s=self._clock(), number=boot.number + 1)
        self._set_engine_clock()

    def freeze(self) -> None:
        """Hear nothing more; what comes meanwhile waits, as with a stopped process."""
        if self._transport is not None:
            self._transport.freeze()

    def thaw(self) -> None:
        """Answer again, first what has waited."""
        if self._transport is not None:
            self._transport.thaw()

    def boot(self) -> Boot:
        """The start it runs since: the story's, or one made by hand."""
        story = self._plant.boot(self.switch.name, self._clock())
        if self._by_hand is None or story.time_s > self._by_hand.time_s:
            return story
        return self._by_hand

    def tables(self) -> tuple[Mib, SwitchNow]:
        """The tables as of now; one instant serves all requests that come within it."""
        self.requests += 1
        now = SwitchNow(
            self.switch, self._plant, self._traffic, time_s=self._clock(), boot=self.boot()
        )
        present = frozenset(
            port.name for port in self.switch.ports if port.optical and now.present(port)
        )
        return self._mib(present), now

    def _mib(self, present: frozenset[str]) -> Mib:
        if present not in self._mibs:
            self._mibs[present] = Mib(
                [
                    *system_rows(self.switch, engine_id(self.switch)),
                    *interface_rows(self.switch),
                    *entity_rows(self.switch, present),
                ]
            )
        return self._mibs[present]

    def _hears(self) -> bool:
        return self._plant.answers(self.switch.name, self._clock())

    def _set_engine_clock(self) -> None:
        if self._engine is None:
            return
        boot = self.boot()
        builder = self._engine.get_mib_builder()
        boots, elapsed = builder.import_symbols(
            "__SNMP-FRAMEWORK-MIB", "snmpEngineBoots", "snmpEngineTime"
        )
        boots.syntax = boots.syntax.clone(boot.number)
        elapsed.syntax = type(elapsed.syntax)(int(boot.time_s))


def _bound(host: str, port: int) -> socket.socket:
    wire = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        wire.bind((host, port))
    except OSError as error:
        wire.close()
        raise OperatorError(
            f"a simulated switch cannot listen on {host}, UDP port {port}: {error.strerror}",
            hint="end what uses that port, or choose another: --snmp-port NUMBER",
        ) from error
    wire.setblocking(False)
    return wire


def _engine_of(switch: Switch) -> Any:
    """An engine with our ID; given to the constructor, it would be kept in a shared file."""
    made = engine.SnmpEngine()
    (stored,) = made.get_mib_builder().import_symbols("__SNMP-FRAMEWORK-MIB", "snmpEngineID")
    stored.syntax = stored.syntax.clone(engine_id(switch))
    made.snmpEngineID = stored.syntax
    return made


def _give_access(snmp: Any, switch: Switch) -> None:
    if isinstance(switch.access, Community):
        config.add_v1_system(snmp, "reads", switch.access.text)
        return
    config.add_v3_user(
        snmp,
        switch.access.name,
        config.USM_AUTH_HMAC192_SHA256,
        switch.access.auth_key,
        config.USM_PRIV_CFB128_AES,
        switch.access.priv_key,
    )


class StationAgents:
    """All switches of the station."""

    def __init__(self, plant: Plant, *, port: int, clock: Clock = time.time) -> None:
        traffic = Traffic(plant)
        self.agents = {
            switch.name: Agent(switch, plant, traffic, port=port, clock=clock)
            for switch in plant.scenario.switches
        }

    def __getitem__(self, switch: SwitchName) -> Agent:
        return self.agents[switch]

    def start(self) -> None:
        """Start all, or none. Raises OperatorError."""
        try:
            for agent in self.agents.values():
                agent.start()
        except OperatorError:
            self.stop()
            raise

    def stop(self) -> None:
        """Stop all, last first."""
        for agent in reversed(self.agents.values()):
            agent.stop()

    async def closed(self) -> None:
        """Stop all and let the loop close their sockets."""
        self.stop()
        await asyncio.sleep(0)


def free_udp_port(hosts: Sequence[str], wished: int) -> int:
    """The wished port if it is free on all these addresses, else one that is.

    Raises OperatorError if twenty tries found none.
    """
    for candidate in (wished, *([0] * 20)):
        port = candidate or _any_port(hosts[0])
        if all(_is_free(host, port) for host in hosts):
            return port
    raise OperatorError("no UDP port is free for the simulated switches", hint="try again later")


def _any_port(host: str) -> int:
    with _bound(host, 0) as wire:
        return int(wire.getsockname()[1])


def _is_free(host: str, port: int) -> bool:
    try:
        _bound(host, port).close()
    except OperatorError:
        return False
    return True
