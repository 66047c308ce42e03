"""The ear for traps put together: who may send, and what is done with what was heard."""

from __future__ import annotations

import logging
import socket
from collections.abc import Callable

from strandkeeper.app.secrets import resolve
from strandkeeper.errors import InputError
from strandkeeper.model.settings import Settings
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.model.trap import Trap
from strandkeeper.snmp.credentials import credential
from strandkeeper.snmp.traps import TrapListener, TrapSource

__all__ = ["start_traps"]

log = logging.getLogger(__name__)


async def start_traps(settings: Settings, heard: Callable[[Trap], None]) -> TrapListener | None:
    """Listen if that is configured. Raises InputError if the port cannot be had."""
    traps = settings.traps
    if traps is None:
        return None
    sources = [
        TrapSource(
            switch=target.name,
            addresses=frozenset((*_addresses(target), *traps.sources.get(target.name, ()))),
            held=credential(target.credentials, resolve),
        )
        for target in settings.switches
    ]
    listener = TrapListener((traps.host, traps.port), sources, heard, rate_per_s=traps.rate_per_s)
    try:
        await listener.start()
    except OSError as error:
        raise InputError(
            f"traps cannot be listened for at {traps.host} port {traps.port}: {error.strerror}",
            hint="Set another port or host under [traps], or enabled = false. Ports below 1024 "
            "need a right of their own.",
        ) from error
    log.info("listening for traps host=%s port=%d", traps.host, listener.port)
    return listener


def _addresses(target: SwitchTarget) -> tuple[str, ...]:
    """Every address of the host; none if its name cannot be looked up now."""
    try:
        found = socket.getaddrinfo(target.host, None, type=socket.SOCK_DGRAM)
    except OSError:
        log.warning("traps of a switch are not taken: no address switch=%s", target.name)
        return ()
    return tuple({str(entry[4][0]).partition("%")[0] for entry in found})
