"""What an unknown switch has: asked politely, within bounds, and saying what was not read.

One request is under way to a switch at a time, with a pause before each of a walk: twenty a second
at most. Rows, octets and time are limited, and agents that loop are left. Several switches are
surveyed at once.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.bind_switch import identity_of
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid, Value, as_int, as_oid, as_text
from strandkeeper.model.poll import SwitchIdentity
from strandkeeper.model.reading import AdminStatus, OperStatus, OpticalReading
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.readers import entity_tree, interfaces, lldp
from strandkeeper.readers.base import Column, PortKey
from strandkeeper.readers.entity_tree import EntityTree
from strandkeeper.readers.lldp import Neighbour
from strandkeeper.readers.plausible import doubts
from strandkeeper.readers.ports import port_keys
from strandkeeper.readers.registry import STATUS_ONLY, readers_for
from strandkeeper.snmp.session import SnmpClient
from strandkeeper.snmp.sizes import Group

__all__ = ["SurveyedModule", "SurveyedPort", "SurveyedSwitch", "survey_switch"]

MAX_ROWS: Final = 4096  # of one column
MAX_ALL_ROWS: Final = 40_000
MAX_S: Final = 180.0
PAUSE_S: Final = 0.05
MAX_SAMPLED: Final = 64  # ports of which a sample reading is taken

_IF_TYPE: Final = (1, 3, 6, 1, 2, 1, 2, 2, 1, 3)
_ETHERNET: Final = (6, 62, 69, 117)  # IANAifType: csmacd and the names it had before
_OPER = {int(s): s for s in OperStatus}
_ADMIN = {int(s): s for s in AdminStatus}
_PORT_COLUMNS: Final = (
    interfaces.IF_NAME,
    interfaces.IF_DESCR,
    interfaces.IF_ALIAS,
    _IF_TYPE,
    interfaces.IF_ADMIN_STATUS,
    interfaces.IF_OPER_STATUS,
    interfaces.IF_HIGH_SPEED,
    interfaces.IF_SPEED,
    interfaces.IF_MAU_TYPE,
)

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyedModule:
    """A module as ENTITY-MIB names it; empty where it does not."""

    descr: str = ""
    maker: str = ""
    part: str = ""
    serial: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyedPort:
    """One Ethernet port. `doubts`: what speaks against its sample reading."""

    key: PortKey
    oper: OperStatus | None = None
    admin: AdminStatus | None = None
    speed_mbps: int | None = None
    mau_type: int | None = None
    module: SurveyedModule | None = None
    reader: str = STATUS_ONLY
    reading: OpticalReading | None = None
    doubts: tuple[str, ...] = ()
    heard: tuple[Neighbour, ...] = ()

    @property
    def name(self) -> str:
        """As the configuration would name it."""
        return self.key.name or self.key.descr


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyedSwitch:
    """One switch. `error` with `hint` if it did not answer; `remarks`: what was not read."""

    target: SwitchTarget
    error: str = ""
    hint: str = ""
    identity: SwitchIdentity = field(default_factory=SwitchIdentity)
    uptime_cs: int | None = None
    chassis: bytes = b""
    ports: tuple[SurveyedPort, ...] = ()
    readers: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


async def survey_switch(client: SnmpClient, target: SwitchTarget, say: Say) -> SurveyedSwitch:
    """Survey one switch of the started client. Never raises DeviceError."""
    try:
        return await _Survey(client, target, say).run()
    except DeviceError as error:
        return SurveyedSwitch(target=target, error=error.message, hint=error.hint)


class _Survey:
    """The columns walked so far, and what is left of the bounds."""

    def __init__(self, client: SnmpClient, target: SwitchTarget, say: Say) -> None:
        self._client = client
        self._target = target
        self._say = say
        self._tables: dict[Oid, Column] = {}
        self._rows_left = MAX_ALL_ROWS
        self._until_s = asyncio.get_running_loop().time() + MAX_S
        self._remarks: list[str] = []

    @property
    def _switch(self) -> SwitchName:
        return self._target.name

    async def run(self) -> SurveyedSwitch:
        """Everything, in the order of its worth: who, ports, light, modules, neighbours."""
        self._say("asking who it is")
        system = await self._client.get(
            self._switch,
            [
                interfaces.SYS_UP_TIME,
                interfaces.SYS_DESCR,
                interfaces.SYS_OBJECT_ID,
                interfaces.SYS_NAME,
                lldp.LOCAL_CHASSIS,
            ],
        )
        self._say("walking its ports")
        await self._walk("ports", _PORT_COLUMNS)
        keys = self._keys()
        self._say(f"{len(keys)} ports; looking for light readings")
        samples = await self._samples(keys)
        self._say(f"{len(samples)} ports with light readings; looking for modules and neighbours")
        await self._walk("modules", entity_tree.COLUMNS)
        await self._walk("neighbours", lldp.COLUMNS)
        heard, untold = lldp.neighbours(self._tables, self._every_key())
        self._remarks += untold
        modules = self._modules(keys)
        ports = tuple(
            self._port(key, samples.get(key.if_index), modules.get(key.if_index), heard)
            for key in keys
        )
        chassis = system.values.get(lldp.LOCAL_CHASSIS)
        return SurveyedSwitch(
            target=self._target,
            identity=identity_of(system.values),
            uptime_cs=as_int(system.values.get(interfaces.SYS_UP_TIME)),
            chassis=chassis if isinstance(chassis, bytes) else b"",
            ports=ports,
            readers=tuple(dict.fromkeys(name for name, _ in samples.values())),
            remarks=tuple(dict.fromkeys(self._remarks)),
        )

    async def _walk(self, what: str, columns: Sequence[Oid]) -> None:
        """Walk columns that were not walked yet; whatever ends it early is remembered."""
        loop = asyncio.get_running_loop()
        for column in columns:
            if column in self._tables:
                continue
            left_s = self._until_s - loop.time()
            if left_s <= 0 or self._rows_left <= 0:
                bound = f"{MAX_S:g} s" if left_s <= 0 else f"{MAX_ALL_ROWS} rows"
                self._remarks.append(f"{what} not read to the end: the survey ends after {bound}")
                return
            try:
                walk = await self._client.walk(
                    self._switch,
                    column,
                    max_rows=min(MAX_ROWS, self._rows_left),
                    max_s=left_s,
                    pause_s=PAUSE_S,
                )
            except DeviceError as error:
                self._remarks.append(f"{what} not read: {error.message}")
                return
            self._tables[column] = walk.rows
            self._rows_left -= len(walk.rows)
            if walk.remark:
                self._remarks.append(f"{what}: {walk.remark}")
            await asyncio.sleep(PAUSE_S)

    def _column(self, oid: Oid) -> Column:
        return self._tables.get(oid, {})

    def _every_key(self) -> tuple[PortKey, ...]:
        return port_keys(
            self._column(interfaces.IF_NAME),
            self._column(interfaces.IF_DESCR),
            self._column(interfaces.IF_ALIAS),
        )

    def _keys(self) -> tuple[PortKey, ...]:
        """The Ethernet ports; all, where the switch does not tell what kind they are."""
        kinds = self._column(_IF_TYPE)
        return tuple(
            key
            for key in self._every_key()
            if as_int(kinds.get((key.if_index,), _ETHERNET[0])) in _ETHERNET
        )

    async def _samples(self, keys: Sequence[PortKey]) -> dict[int, tuple[str, OpticalReading]]:
        """One reading of each port that has any, with the name of its reader."""
        found: dict[int, tuple[str, OpticalReading]] = {}
        for reader in readers_for(self._target.tables):
            await self._walk("light readings", (reader.probe,))
            if not self._column(reader.probe):
                continue
            await self._walk("light readings", reader.columns)
            bound = reader.bind(self._tables, keys)
            self._remarks += bound.remarks
            there = {i: r for i, r in bound.ports.items() if i not in found}
            if len(there) > MAX_SAMPLED:
                self._remarks.append(
                    f"samples were taken of {MAX_SAMPLED} of {len(there)} ports with readings"
                )
            wanted = dict(list(there.items())[:MAX_SAMPLED])
            try:
                answer = await self._client.get(
                    self._switch, [Group(None, r.oids) for r in wanted.values()]
                )
            except DeviceError as error:
                self._remarks.append(f"light readings not read: {error.message}")
                continue
            for if_index, port in wanted.items():
                reading = port.decode(answer.values).reading
                found[if_index] = (reader.name, reading or OpticalReading())
        return found

    def _modules(self, keys: Sequence[PortKey]) -> dict[int, SurveyedModule]:
        """Modules with a serial number, a part number or a maker, by the one port they are in."""
        tree = EntityTree(self._tables, keys)
        found: dict[int, SurveyedModule] = {}
        for index in self._column(entity_tree.CLASS):
            if len(index) != 1 or not self._is_module(index):
                continue
            tied = tree.tie(index[0])
            if len(tied) == 1:
                found.setdefault(tied[0], self._module(index))
        return found

    def _is_module(self, index: Oid) -> bool:
        kind = as_int(self._column(entity_tree.CLASS).get(index))
        return kind in entity_tree.MAY_BE_MODULES and any(
            as_text(self._column(c).get(index))
            for c in (entity_tree.SERIAL, entity_tree.MODEL_NAME, entity_tree.MFG_NAME)
        )

    def _module(self, index: Oid) -> SurveyedModule:
        return SurveyedModule(
            descr=as_text(self._column(entity_tree.DESCR).get(index)),
            maker=as_text(self._column(entity_tree.MFG_NAME).get(index)),
            part=as_text(self._column(entity_tree.MODEL_NAME).get(index)),
            serial=as_text(self._column(entity_tree.SERIAL).get(index)),
        )

    def _port(
        self,
        key: PortKey,
        sample: tuple[str, OpticalReading] | None,
        module: SurveyedModule | None,
        heard: Mapping[int, tuple[Neighbour, ...]],
    ) -> SurveyedPort:
        row = (key.if_index,)
        oper = _OPER.get(as_int(self._column(interfaces.IF_OPER_STATUS).get(row)) or 0)
        reader, reading = sample or (STATUS_ONLY, None)
        return SurveyedPort(
            key=key,
            oper=oper,
            admin=_ADMIN.get(as_int(self._column(interfaces.IF_ADMIN_STATUS).get(row)) or 0),
            speed_mbps=interfaces.speed_mbps(self._flat(key.if_index), key.if_index),
            mau_type=interfaces.mau_type(self._flat(key.if_index), key.if_index),
            module=module,
            reader=reader,
            reading=reading,
            doubts=() if reading is None else doubts(reading, oper),
            heard=heard.get(key.if_index, ()),
        )

    def _flat(self, if_index: int) -> dict[Oid, Value]:
        """The cells of a port that the functions for answers take, by whole OID."""
        columns = (interfaces.IF_HIGH_SPEED, interfaces.IF_SPEED, interfaces.IF_MAU_TYPE)
        return {
            (*column, *index): value
            for column in columns
            for index, value in self._column(column).items()
            if index[0] == if_index and (as_int(value) is not None or as_oid(value) is not None)
        }
