"""What opens a switch: a community or a USM user. Their secrets never print."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from dataclasses import dataclass, field

from strandkeeper.errors import SecretError
from strandkeeper.model.switch import CommunityRef, SecretRef, UsmRef

__all__ = [
    "AUTH_PROTOCOLS",
    "PRIV_PROTOCOLS",
    "Community",
    "Credential",
    "Usm",
    "credential",
    "remarks",
]

# RFC 3414, RFC 7860
AUTH_PROTOCOLS = ("MD5", "SHA", "SHA-224", "SHA-256", "SHA-384", "SHA-512")
# RFC 3414, RFC 3826; the longer AES keys in two incompatible ways of making the key, neither an RFC
PRIV_PROTOCOLS = ("DES", "3DES", "AES-128", "AES-192", "AES-256", "AES-192-B", "AES-256-B")

_MIN_KEY_OCTETS = 8  # RFC 3414, 11.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Community:
    """An SNMP v1 or v2c community; in the clear on the wire, never in our output."""

    version: str  # "1" or "2c"
    text: str = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Usm:
    """An SNMPv3 user (RFC 3414). Keys are pass phrases; None: not used."""

    user: str
    auth_protocol: str | None = None
    auth_key: str | None = field(default=None, repr=False)
    priv_protocol: str | None = None
    priv_key: str | None = field(default=None, repr=False)
    context: str = ""

    @property
    def level(self) -> str:
        """The security level by its standard name."""
        if self.auth_protocol is None:
            return "noAuthNoPriv"
        return "authNoPriv" if self.priv_protocol is None else "authPriv"


Credential = Community | Usm


def credential(ref: CommunityRef | UsmRef, resolve: Callable[[SecretRef], str]) -> Credential:
    """The credential that a reference names. Raises SecretError, without the secret in it."""
    if isinstance(ref, CommunityRef):
        return Community(version=ref.version, text=resolve(ref.community))
    auth_protocol, auth_key = _pair(ref.auth_protocol, ref.auth_key, "auth", resolve)
    priv_protocol, priv_key = _pair(ref.priv_protocol, ref.priv_key, "priv", resolve)
    _check(ref, auth_protocol, priv_protocol)
    return Usm(
        user=ref.user,
        auth_protocol=auth_protocol,
        auth_key=auth_key,
        priv_protocol=priv_protocol,
        priv_key=priv_key,
        context=ref.context,
    )


def _pair(
    protocol: str | None, key: SecretRef | None, which: str, resolve: Callable[[SecretRef], str]
) -> tuple[str | None, str | None]:
    if protocol is None and key is None:
        return None, None
    if protocol is None or key is None:
        raise SecretError(
            f"the SNMPv3 {which} protocol and its key belong together, and one of them is missing",
            hint=f"give both {which} and {which}_key, or neither",
        )
    text = resolve(key)
    if len(text.encode()) < _MIN_KEY_OCTETS:
        raise SecretError(
            f"the SNMPv3 {which} key in {key.where} is shorter than {_MIN_KEY_OCTETS} characters",
            hint="no switch takes so short a key (RFC 3414): check the file",
        )
    return protocol, text


def _check(ref: UsmRef, auth: str | None, priv: str | None) -> None:
    if priv is not None and auth is None:
        raise SecretError(
            f'SNMPv3 user "{ref.user}" has privacy without authentication, which does not exist',
            hint="add auth and auth_key",
        )
    for name, known in ((auth, AUTH_PROTOCOLS), (priv, PRIV_PROTOCOLS)):
        if name is not None and name not in known:
            raise SecretError(
                f'"{name}" is no SNMPv3 protocol known here', hint=f"one of {', '.join(known)}"
            )
    if priv is not None and not _has_ciphers():
        raise SecretError(
            f'SNMPv3 user "{ref.user}" has privacy, and this computer has no ciphers for it',
            hint="install the Python package cryptography beside Strandkeeper",
        )


def _has_ciphers() -> bool:
    """Whether the library behind SNMPv3 privacy is there: without it every request would fail."""
    try:
        importlib.import_module("cryptography")
    except ImportError:
        return False
    return True


def remarks(held: Credential) -> tuple[str, ...]:
    """What a person should know of the strength of a credential, as sentences."""
    if isinstance(held, Community):
        return (
            f"SNMP v{held.version} sends its community in the clear; "
            "SNMPv3 authPriv is safer where the switch has it",
        )
    found = []
    if held.level == "noAuthNoPriv":
        found.append("SNMPv3 noAuthNoPriv proves nothing and hides nothing: add auth and priv keys")
    if held.level == "authNoPriv":
        found.append("SNMPv3 authNoPriv sends the readings in the clear")
    if held.auth_protocol == "MD5" or held.priv_protocol in ("DES", "3DES"):
        found.append("MD5 and DES are outdated: SHA-256 with AES-128 is safer")
    return tuple(found)
