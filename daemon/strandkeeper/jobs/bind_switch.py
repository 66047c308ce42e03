"""What a switch has, walked once: its ports by name, the columns of their rows, their sensors.

Walks are made at the start, after a restart, and when the switch says that its tables changed or a
name no longer fits. Interfaces come first; if the optics cannot be read, the ports are watched
without them, and it is said that they are still to be looked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.walk_turns import WalkTurns
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.oid import Absent, Oid, Value, as_int, as_oid, as_text, dotted
from strandkeeper.model.poll import SwitchIdentity
from strandkeeper.model.reading import OperStatus
from strandkeeper.readers import interfaces, power_supply
from strandkeeper.readers.base import Binding, Column, PortKey, PortReader, Reader
from strandkeeper.readers.interfaces import PortColumns
from strandkeeper.readers.ports import Found, find_port, known_names, port_keys
from strandkeeper.readers.registry import STATUS_ONLY, readers_for
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.sizes import Group

__all__ = ["NO_READINGS", "BoundPort", "BoundSwitch", "bind_switch", "identity_of"]

NO_READINGS = (
    "the switch shows no light readings for this port: it has none, or this credential may not see "
    "them"
)

_ENTERPRISES = (1, 3, 6, 1, 4, 1)
_MOST_POWER_ROWS = 96


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundPort:
    """A configured port tied to its rows until the switch renumbers them."""

    columns: PortColumns
    named_by: str
    expected_name: str
    reader: str = STATUS_ONLY
    optics: PortReader | None = None
    mau_type: int | None = None
    speed_mbps: int | None = None
    remarks: tuple[str, ...] = ()

    @property
    def if_index(self) -> int:
        """The row of the port, as long as this binding holds."""
        return self.columns.if_index


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundSwitch:
    """All that was walked. `table_change` and `entity_change` are None where not published.

    `optics_unread`: a walk of sensors failed, and a port has none that may have some.
    """

    identity: SwitchIdentity
    uptime_cs: int | None
    table_change: int | None
    entity_change: int | None
    ports: Mapping[PortName, BoundPort] = field(default_factory=dict)
    missing: tuple[PortName, ...] = ()
    known: tuple[PortName, ...] = ()
    remarks: tuple[str, ...] = ()
    power_oids: tuple[Oid, ...] = ()
    optics_unread: bool = False


async def bind_switch(
    client: SnmpClient,
    switch: SwitchName,
    wanted: Sequence[PortName],
    turns: WalkTurns | None = None,
) -> BoundSwitch:
    """Walk a switch and tie the wanted ports to their rows. Raises DeviceError.

    It waits for one of the `turns` only once the switch has answered: a dead one holds up nobody.
    """
    system = await client.get(
        switch,
        [
            interfaces.SYS_UP_TIME,
            interfaces.SYS_DESCR,
            interfaces.SYS_OBJECT_ID,
            interfaces.SYS_NAME,
            interfaces.IF_TABLE_LAST_CHANGE,
            interfaces.ENT_LAST_CHANGE,
        ],
    )
    async with (WalkTurns() if turns is None else turns).turn():
        return await _walked(client, switch, wanted, system.values)


async def _walked(
    client: SnmpClient, switch: SwitchName, wanted: Sequence[PortName], system: Mapping[Oid, Value]
) -> BoundSwitch:
    keys, cut_short = await _ports_of(client, switch, wanted)
    found = {name: f for name in wanted if (f := find_port(name, keys)) is not None}
    rows = {name: await _living_row(client, switch, f) for name, f in found.items()}
    optics = await _optics(client, switch, keys, frozenset(rows.values()))
    details = await _details(client, switch, tuple(dict.fromkeys(rows.values())))
    ports = {name: _bound(found[name], row, details, keys, optics) for name, row in rows.items()}
    return BoundSwitch(
        identity=identity_of(system),
        uptime_cs=as_int(system.get(interfaces.SYS_UP_TIME)),
        table_change=as_int(system.get(interfaces.IF_TABLE_LAST_CHANGE)),
        entity_change=as_int(system.get(interfaces.ENT_LAST_CHANGE)),
        ports=ports,
        missing=tuple(name for name in wanted if name not in found),
        known=known_names(keys),
        remarks=(*cut_short, *optics.remarks, *_shared_engine(client, switch)),
        power_oids=await _power_oids(client, switch),
        optics_unread=optics.failed and not optics.ports.keys() >= set(rows.values()),
    )


def _shared_engine(client: SnmpClient, switch: SwitchName) -> tuple[str, ...]:
    others = client.engine_shared_with(switch)
    if not others:
        return ()
    return (
        f"it has the SNMPv3 engine ID of {', '.join(others)}, as after copying a configuration: "
        "give each an ID of its own, or most polls cost a second exchange and traps may be lost",
    )


async def _power_oids(client: SnmpClient, switch: SwitchName) -> tuple[Oid, ...]:
    """What there is to ask of power; nothing if that cannot be found out."""
    found: list[Oid] = []
    try:
        for column in power_supply.COLUMNS:
            rows = (await client.walk(switch, column, max_rows=_MOST_POWER_ROWS)).rows
            found += [(*column, *index) for index in rows]
            if not rows and column == power_supply.COLUMNS[0]:
                break
        answer = await client.get(switch, power_supply.UPS_SCALARS)
    except DeviceError:
        return tuple(found)
    there = [o for o in power_supply.UPS_SCALARS if not isinstance(answer.values[o], Absent)]
    return (*found, *there)


def identity_of(values: Mapping[Oid, Value]) -> SwitchIdentity:
    """Who a switch says it is, out of an answer with its system group."""
    object_id = as_oid(values.get(interfaces.SYS_OBJECT_ID)) or ()
    enterprise = object_id[6] if object_id[:6] == _ENTERPRISES and len(object_id) > 6 else None
    return SwitchIdentity(
        sys_name=as_text(values.get(interfaces.SYS_NAME)),
        sys_descr=as_text(values.get(interfaces.SYS_DESCR)),
        sys_object_id=dotted(object_id),
        enterprise=enterprise,
    )


async def _ports_of(
    client: SnmpClient, switch: SwitchName, wanted: Sequence[PortName]
) -> tuple[tuple[PortKey, ...], tuple[str, ...]]:
    """The ports with ifName and ifDescr, with ifAlias only if a wanted port was not found yet.

    With them why their walks ended early, if they did.
    """
    names = await client.walk(switch, interfaces.IF_NAME)
    descrs = await client.walk(switch, interfaces.IF_DESCR)
    walks = [names, descrs]
    keys = port_keys(names.rows, descrs.rows, {})
    if not all(find_port(name, keys) for name in wanted):
        walks.append(await client.walk(switch, interfaces.IF_ALIAS))
        keys = port_keys(names.rows, descrs.rows, walks[-1].rows)
    remarks = dict.fromkeys(f"ports not read to the end: {w.remark}" for w in walks if w.remark)
    return keys, tuple(remarks)


async def _living_row(client: SnmpClient, switch: SwitchName, found: Found) -> int:
    """Of several rows with one name the one that is up, else the one that came last."""
    if len(found.if_indexes) == 1:
        return found.if_indexes[0]
    asked = [(*interfaces.IF_OPER_STATUS, i) for i in found.if_indexes]
    answer = await client.get(switch, asked)
    up = [
        i
        for i in found.if_indexes
        if answer.values[(*interfaces.IF_OPER_STATUS, i)] == OperStatus.UP
    ]
    return (up or list(found.if_indexes))[-1]


async def _details(
    client: SnmpClient, switch: SwitchName, rows: Sequence[int]
) -> Mapping[Oid, Value]:
    if not rows:
        return {}
    groups = [Group(None, interfaces.candidate_oids(row)) for row in rows]
    return (await client.get(switch, groups)).values


@dataclass(slots=True)
class _Optics:
    """The port readers found so far, by row and with the name of their reader."""

    ports: dict[int, tuple[PortReader, str]] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    failed: bool = False  # one was not read

    def add(self, reader: Reader, bound: Binding, broken_off: Sequence[str]) -> None:
        """What an earlier reader gave a port stays."""
        for row, port in bound.ports.items():
            self.ports.setdefault(row, (port, reader.name))
        self.remarks += [*bound.remarks, *dict.fromkeys(r for r in broken_off if r)]


async def _optics(
    client: SnmpClient, switch: SwitchName, keys: Sequence[PortKey], rows: frozenset[int]
) -> _Optics:
    """What the readers have for the ports, until every wanted row has one.

    A failure costs the optics only.
    """
    found = _Optics()
    tables = client.target(switch).tables
    described = {f'table "{t.name}"' for t in tables}
    for reader in readers_for(tables):
        if rows and rows <= found.ports.keys():
            break
        try:
            walked, broken_off = await _tables_of(client, switch, reader)
        except DeviceError as error:
            found.failed = True
            found.remarks.append(f"optics not read: {error.message}")
            continue
        if walked:
            found.add(reader, reader.bind(walked, keys), broken_off)
        elif reader.name in described:
            found.remarks.append(
                f"{reader.name}: the switch shows nothing at {dotted(reader.probe)}; it has no "
                "such table, or this credential may not see it"
            )
    return found


async def _tables_of(
    client: SnmpClient, switch: SwitchName, reader: Reader
) -> tuple[dict[Oid, Column], list[str]]:
    """The columns of a reader, and why walks ended early; nothing if its probe found nothing."""
    probed = await client.walk(switch, reader.probe)
    if not probed.rows:
        return {}, []
    tables: dict[Oid, Column] = {reader.probe: probed.rows}
    remarks = [probed.remark]
    for column in reader.columns:
        if column not in tables:
            walk = await client.walk(switch, column)
            tables[column] = walk.rows
            remarks.append(walk.remark)
    return tables, remarks


def _bound(
    found: Found,
    row: int,
    details: Mapping[Oid, Value],
    keys: Sequence[PortKey],
    optics: _Optics,
) -> BoundPort:
    reader, reader_name = optics.ports.get(row, (None, STATUS_ONLY))
    key = next(k for k in keys if k.if_index == row)
    expected = {"ifName": key.name, "ifAlias": key.alias, "ifDescr": key.descr}[found.object_name]
    remarks = [*found.remarks, *(() if reader is None else reader.remarks)]
    if reader is None:
        remarks.append(NO_READINGS)
    if len(found.if_indexes) > 1:
        remarks.append("the switch lists this port twice; the row that is up was taken")
    return BoundPort(
        columns=interfaces.columns_there(row, found.column, details),
        named_by=found.object_name,
        expected_name=expected,
        reader=reader_name,
        optics=reader,
        mau_type=interfaces.mau_type(details, row),
        speed_mbps=interfaces.speed_mbps(details, row),
        remarks=tuple(remarks),
    )
