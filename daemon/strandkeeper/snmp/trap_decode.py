"""From the variables of a notification to what it means; and who says to have sent a datagram.

Pure. Source: RFC 3416 section 4.2.6 (the first two variables), RFC 2863 (linkDown, linkUp), RFC
3418 (coldStart, warmStart), RFC 3584 section 3.1 (v1 as v2), RFC 3414 section 2.4 and RFC 3412
section 6 (the fields of a v3 message).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid, Value, as_int, as_oid
from strandkeeper.model.trap import Trap, TrapKind
from strandkeeper.snmp.ber import SEQUENCE, integer, octets, open_element

__all__ = ["Claim", "claim_of", "port_key", "trap_of"]

SYS_UP_TIME: Final = (1, 3, 6, 1, 2, 1, 1, 3, 0)
TRAP_OID: Final = (1, 3, 6, 1, 6, 3, 1, 1, 4, 1, 0)
_TRAPS: Final = (1, 3, 6, 1, 6, 3, 1, 1, 5)
KINDS: Final[dict[Oid, TrapKind]] = {
    (*_TRAPS, 1): TrapKind.COLD_START,
    (*_TRAPS, 2): TrapKind.WARM_START,
    (*_TRAPS, 3): TrapKind.LINK_DOWN,
    (*_TRAPS, 4): TrapKind.LINK_UP,
}
IF_INDEX: Final = (1, 3, 6, 1, 2, 1, 2, 2, 1, 1)

_IF_INDEX_OCTETS: Final = bytes((0x2B, *IF_INDEX[2:]))  # 1.3 is one octet (X.690, 8.19.4)
_V3 = 3
_AUTH, _PRIV = 0x01, 0x02


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What a datagram says of its sender; nothing of it is proven yet.

    `community` for v1 and v2c; `user`, `engine_id` and the two flags for v3.
    """

    version: int
    community: bytes = b""
    user: bytes = b""
    engine_id: bytes = b""
    authenticated: bool = False
    private: bool = False


def trap_of(switch: SwitchName, variables: Sequence[tuple[Oid, Value]]) -> Trap:
    """What a notification means; what is not known here is OTHER. Raises nothing."""
    by_oid = dict(variables)
    name = as_oid(by_oid.get(TRAP_OID))
    kind = KINDS.get(name or (), TrapKind.OTHER)
    index = next((v for oid, v in variables if oid[:-1] == IF_INDEX), None)
    return Trap(
        switch=switch,
        kind=kind,
        uptime_cs=as_int(by_oid.get(SYS_UP_TIME)),
        if_index=as_int(index),
    )


def port_key(data: bytes) -> bytes:
    """The octets of a datagram that number its port, to tell ports apart; empty where none show.

    Of an encrypted notification none show. Not decoded: the same port gives the same octets.
    """
    at = data.find(_IF_INDEX_OCTETS)
    if at < 0:
        return b""
    start = end = at + len(_IF_INDEX_OCTETS)
    while end < len(data) - 1 and data[end] & 0x80:  # X.690, 8.19.2: more octets follow
        end += 1
    return data[start : end + 1]


def claim_of(data: bytes) -> Claim | None:
    """Who a datagram says it is from; None if it cannot be SNMP."""
    try:
        return _claim(data)
    except (IndexError, ValueError):
        return None


def _claim(data: bytes) -> Claim:
    at, _ = open_element(data, 0, SEQUENCE)
    version, at = integer(data, at)
    if version in (0, 1):
        community, _ = octets(data, at)
        return Claim(version=version, community=community)
    if version != _V3:
        raise ValueError(version)
    header, length = open_element(data, at, SEQUENCE)
    flags = _flags(data, header)
    security, _ = octets(data, header + length)
    return _usm(security, flags)


def _flags(data: bytes, at: int) -> int:
    """msgFlags: the third field of the header."""
    for _ in range(2):
        _, at = integer(data, at)
    flags, _ = octets(data, at)
    if len(flags) != 1:
        raise ValueError(flags)
    return flags[0]


def _usm(security: bytes, flags: int) -> Claim:
    """UsmSecurityParameters: engine ID, boots, time, user name, and what proves them."""
    at, _ = open_element(security, 0, SEQUENCE)
    engine_id, at = octets(security, at)
    _, at = integer(security, at)
    _, at = integer(security, at)
    user, _ = octets(security, at)
    return Claim(
        version=_V3,
        user=user,
        engine_id=engine_id,
        authenticated=bool(flags & _AUTH),
        private=bool(flags & _PRIV),
    )
