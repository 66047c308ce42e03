"""An SNMPv3 agent (the library's command responder) that can be rebooted or replaced."""

from __future__ import annotations

import asyncio
import shutil
import tempfile
import warnings
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from pysnmp.carrier.asyncio.dgram import udp
from pysnmp.entity import config, engine
from pysnmp.entity.rfc3413 import cmdrsp, context
from pysnmp.proto import rfc1902, rfc1905
from pysnmp.smi import instrum

Oid = tuple[int, ...]

AUTH = {
    None: config.USM_AUTH_NONE,
    "MD5": config.USM_AUTH_HMAC96_MD5,
    "SHA": config.USM_AUTH_HMAC96_SHA,
    "SHA-224": config.USM_AUTH_HMAC128_SHA224,
    "SHA-256": config.USM_AUTH_HMAC192_SHA256,
    "SHA-384": config.USM_AUTH_HMAC256_SHA384,
    "SHA-512": config.USM_AUTH_HMAC384_SHA512,
}
PRIV = {
    None: config.USM_PRIV_NONE,
    "DES": config.USM_PRIV_CBC56_DES,
    "3DES": config.USM_PRIV_CBC168_3DES,
    "AES-128": config.USM_PRIV_CFB128_AES,
    "AES-192": config.USM_PRIV_CFB192_AES,
    "AES-256": config.USM_PRIV_CFB256_AES,
    "AES-192-B": config.USM_PRIV_CFB192_AES_BLUMENTHAL,
    "AES-256-B": config.USM_PRIV_CFB256_AES_BLUMENTHAL,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class User:
    """A user as the agent knows it."""

    name: str = "reader"
    auth: str | None = "SHA-256"
    auth_key: str | None = "tide-table-7"
    priv: str | None = "AES-128"
    priv_key: str | None = "spring-low-9"

    @property
    def level(self) -> str:
        if self.auth is None:
            return "noAuthNoPriv"
        return "authNoPriv" if self.priv is None else "authPriv"


class _Controller(instrum.AbstractMibInstrumController):  # type: ignore[misc]
    def __init__(self, table: dict[Oid, Any]) -> None:
        self._table = table

    def read_variables(self, *varbinds: Any, **_: Any) -> list[tuple[Any, Any]]:
        return [(n, self._table.get(tuple(n), rfc1905.noSuchInstance)) for n, _ in varbinds]

    def read_next_variables(self, *varbinds: Any, **_: Any) -> list[tuple[Any, Any]]:
        found = []
        for name, _ in varbinds:
            after = min((o for o in self._table if o > tuple(name)), default=None)
            if after is None:
                found.append((name, rfc1905.endOfMibView))
            else:
                found.append((rfc1902.ObjectName(after), self._table[after]))
        return found


class V3Agent:
    """Use as an async context manager."""

    def __init__(self, *users: User, engine_id: bytes = b"\x80\x00\x00\x00\x04quay") -> None:
        self.users = users or (User(),)
        self.engine_id = engine_id
        self.table: dict[Oid, Any] = {
            (1, 3, 6, 1, 2, 1, 1, 3, 0): rfc1902.TimeTicks(77),
            (1, 3, 6, 1, 2, 1, 1, 5, 0): rfc1902.OctetString("quay-1"),
        }
        self._engine: Any = None
        self.port = 0

    @property
    def address(self) -> tuple[str, int]:
        return "127.0.0.1", self.port

    async def __aenter__(self) -> Self:
        await self._listen()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        await self._leave()
        self._forget()

    def _forget(self) -> None:
        kept = Path(tempfile.gettempdir()) / "__pysnmp" / ("0x" + self.engine_id.hex())
        shutil.rmtree(kept, ignore_errors=True)

    async def reboot(self) -> None:
        """The same engine with one boot more and its time from zero."""
        await self._leave()
        await self._listen()

    async def forget_boots(self) -> None:
        """Lose the storage: boots count from the beginning again."""
        await self._leave()
        self._forget()
        await self._listen()

    @property
    def boots(self) -> int:
        return int(self._clock("snmpEngineBoots").syntax)

    def jump(self, seconds: int) -> None:
        """Let so many seconds go by on its engine's clock."""
        time = self._clock("snmpEngineTime")  # the library keeps when it began
        time.syntax = time.syntax.clone(int(time.syntax) - seconds)

    def _clock(self, name: str) -> Any:
        builder = self._engine.get_mib_builder()
        (symbol,) = builder.import_symbols("__SNMP-FRAMEWORK-MIB", name)
        return symbol

    async def replace(self, engine_id: bytes) -> None:
        """Another device at the same address."""
        await self._leave()
        self.engine_id = engine_id
        await self._listen()

    async def _listen(self) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", ResourceWarning)  # the library leaves a file to the gc
            self._engine = engine.SnmpEngine(rfc1902.OctetString(self.engine_id))
        transport = udp.UdpAsyncioTransport().open_server_mode(("127.0.0.1", self.port))
        config.add_transport(self._engine, udp.DOMAIN_NAME, transport)
        for user in self.users:
            config.add_v3_user(
                self._engine,
                user.name,
                AUTH[user.auth],
                user.auth_key,
                PRIV[user.priv],
                user.priv_key,
            )
            config.add_vacm_user(self._engine, 3, user.name, user.level, readSubTree=(1,))
        served = context.SnmpContext(self._engine)
        served.unregister_context_name(b"")
        served.register_context_name(b"", _Controller(self.table))
        for responder in (
            cmdrsp.GetCommandResponder,
            cmdrsp.NextCommandResponder,
            cmdrsp.BulkCommandResponder,
        ):
            responder(self._engine, served)
        for _ in range(100):
            if transport.transport is not None:
                break
            await asyncio.sleep(0.01)
        self.port = transport.transport.get_extra_info("sockname")[1]

    async def _leave(self) -> None:
        self._engine.close_dispatcher()
        await asyncio.sleep(0.02)
