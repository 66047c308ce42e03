"""One switch asked once, for a person who wants to know whether it is set up right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, PortIdentity, PowerSupply, SwitchIdentity
from strandkeeper.model.reading import AdminStatus, OperStatus, OpticalReading
from strandkeeper.snmp.session import SnmpClient

__all__ = ["PortReport", "SwitchReport", "ask_switch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PortReport:
    """A configured port: `identity` None means that the switch has no port of that name.

    `reading` None: the switch publishes no light readings for it, or none came.
    """

    port: PortName
    identity: PortIdentity | None = None
    oper: OperStatus | None = None
    admin: AdminStatus | None = None
    reading: OpticalReading | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchReport:
    """What a switch answered. `error` is a sentence, with `hint` what to do; empty if it answered.

    `uptime_s` is in seconds; `known_ports` every port name it has; `size` the objects one request
    may hold.
    """

    switch: SwitchName
    answered: bool
    error: str = ""
    hint: str = ""
    uptime_s: float | None = None
    round_trip_ms: float | None = None
    identity: SwitchIdentity = field(default_factory=SwitchIdentity)
    ports: tuple[PortReport, ...] = ()
    known_ports: tuple[PortName, ...] = ()
    power: PowerSupply | None = None
    size: int | None = None
    engine_id: str = ""


async def ask_switch(
    client: SnmpClient, switch: SwitchName, wanted: Sequence[PortName]
) -> SwitchReport:
    """Ask a switch of the started `client` once for everything. Never raises DeviceError."""
    ends = {LinkEnd(LinkName(name), End.A): name for name in wanted}
    poll = await SwitchPoller(client, switch, ends).poll(0, optics=True)
    if not poll.answered:
        return SwitchReport(switch=switch, answered=False, error=poll.error, hint=poll.hint)
    rows = {ends[end]: row for end, row in poll.rows}
    identities = {ends[end]: identity for end, identity in poll.ports.items()}
    engine_id = client.engine_id(switch)
    return SwitchReport(
        switch=switch,
        answered=True,
        uptime_s=None if poll.uptime_cs is None else poll.uptime_cs / 100,
        round_trip_ms=poll.round_trip_ms,
        identity=poll.identity,
        ports=tuple(
            PortReport(
                port=name,
                identity=identities.get(name),
                oper=rows[name].oper,
                admin=rows[name].admin,
                reading=rows[name].optics,
            )
            for name in dict.fromkeys(wanted)
        ),
        known_ports=poll.known_ports,
        power=poll.power,
        size=client.learned_size(switch),
        engine_id="" if engine_id is None else engine_id.hex(),
    )
