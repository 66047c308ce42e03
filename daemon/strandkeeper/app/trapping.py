"""The ear for traps put together: who may send, and what is done with what was heard."""

from __future__ import annotations

import logging
import socket
from collections.abc import Callable, Iterable

from strandkeeper.app.secrets import resolve
from strandkeeper.errors import InputError
from strandkeeper.model.settings import Settings
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.model.trap import Trap
from strandkeeper.snmp.credentials import Credential, Usm, credential
from strandkeeper.snmp.traps import TrapListener, TrapSource

__all__ = ["inform_clashes", "start_traps"]

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


def inform_clashes(opened: Iterable[tuple[SwitchTarget, Credential]]) -> list[str]:
    """What to mend so that the informs of every switch can be taken, a sentence each.

    A trap is proven by the keys of its sender's engine, so each switch may have its own. An inform
    is proven by the receiver's, ours (RFC 3414, 1.5.1), and there a user name has one key (RFC
    3414, 5: usmUserTable is indexed by engine and name).
    """
    first: dict[str, tuple[SwitchTarget, Usm]] = {}
    clashes = []
    for target, held in opened:
        if not isinstance(held, Usm):
            continue
        other, keys = first.setdefault(held.user, (target, held))
        if _keys(keys) != _keys(held):
            clashes.append(
                f'switch "{target.name}": its SNMPv3 user "{held.user}" has other keys or '
                f'protocols than on switch "{other.name}", so its informs cannot be taken: one '
                "user name has one key here. Its traps are taken. Give the user of this switch a "
                "name of its own, or the same keys, or let the switch send traps."
            )
    return clashes


def _keys(held: Usm) -> tuple[str | None, ...]:
    return held.auth_protocol, held.auth_key, held.priv_protocol, held.priv_key


def _addresses(target: SwitchTarget) -> tuple[str, ...]:
    """Every address of the host; none if its name cannot be looked up now."""
    try:
        found = socket.getaddrinfo(target.host, None, type=socket.SOCK_DGRAM)
    except OSError:
        log.warning("traps of a switch are not taken: no address switch=%s", target.name)
        return ()
    return tuple({str(entry[4][0]).partition("%")[0] for entry in found})
