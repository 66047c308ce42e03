"""A switch to be asked, and where its credentials are kept (never the credentials themselves)."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.enterprise_table import EnterpriseTable
from strandkeeper.model.names import End, LinkName, SwitchName

__all__ = ["CommunityRef", "PingTarget", "SecretKind", "SecretRef", "SwitchTarget", "UsmRef"]


class SecretKind(StrEnum):
    """Where a secret is kept."""

    FILE = "file"
    ENVIRONMENT = "environment"
    CREDENTIAL = "credential"  # a systemd credential: a file in $CREDENTIALS_DIRECTORY


@dataclass(frozen=True, slots=True, kw_only=True)
class SecretRef:
    """Where to find one secret; only app/secrets resolves it."""

    kind: SecretKind
    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CommunityRef:
    """SNMP v1 or v2c: the community is in the clear on the wire."""

    version: str  # "1" or "2c"
    community: SecretRef


@dataclass(frozen=True, slots=True, kw_only=True)
class UsmRef:
    """SNMPv3 user (RFC 3414). Protocol names as in snmp/credentials; key None: not used."""

    user: str
    auth_protocol: str | None = None
    auth_key: SecretRef | None = None
    priv_protocol: str | None = None
    priv_key: SecretRef | None = None
    context: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PingTarget:
    """An address that is reached across a link, at its `end`; `octets` of a large ping."""

    link: LinkName
    end: End
    address: str
    octets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchTarget:
    """One switch: where it is and how to ask it.

    `tables`: its own tables of light readings, in the order in which they are tried. `command`:
    the owner's program that tells the readings instead, with the time it has; empty: none. `pings`:
    addresses to ping across its links.
    """

    name: SwitchName
    host: str
    port: int = 161
    credentials: CommunityRef | UsmRef
    timeout_s: float = 2.0
    retries: int = 1
    tables: tuple[EnterpriseTable, ...] = ()
    command: tuple[str, ...] = ()
    command_deadline_s: float = 10.0
    pings: tuple[PingTarget, ...] = ()
