"""What an SNMPv3 agent's report means to a person (RFC 3414, section 3.2; usmStats)."""

from __future__ import annotations

from typing import Final

__all__ = ["REFUSALS", "TIME_REPORTS", "UNKNOWN_ENGINE", "refusal"]

UNKNOWN_ENGINE: Final = "unknownEngineID"
TIME_REPORTS: Final = frozenset({"notInTimeWindow"})

# indication of the library: (what the switch said, what to do)
REFUSALS: Final = {
    "unknownUserName": (
        "does not know the SNMPv3 user",
        "check the user's name, and that it was saved on the switch",
    ),
    "wrongDigest": (
        "says the authentication does not fit",
        "check the auth key and the auth protocol (SHA-256 is not SHA)",
    ),
    "authenticationFailure": (
        "says the authentication does not fit",
        "check the auth key and the auth protocol (SHA-256 is not SHA)",
    ),
    "unsupportedSecurityLevel": (
        "does not allow this user this security level",
        "give the user the auth and priv protocols that the switch has for it",
    ),
    "decryptionError": (
        "could not decrypt the request",
        "check the priv key and the priv protocol (AES-256 exists in two kinds: "
        "AES-256 and AES-256-B)",
    ),
    "notInTimeWindow": (
        "keeps saying that the request is outside its time window",
        "its engine clock jumps, or two switches share one SNMPv3 engine ID: "
        "give each its own engine ID",
    ),
    "unknownEngineID": (
        "keeps denying its own SNMPv3 engine ID",
        "restart the SNMP service of the switch",
    ),
    "unknownSecurityName": (
        "answered with an SNMPv3 engine that this user is not set up for",
        "restart the SNMP service of the switch, then this program",
    ),
}


def refusal(indication: str) -> tuple[str, str]:
    """The reason and the hint for a report; unknown reports are passed on as they are."""
    return REFUSALS.get(
        indication,
        (f'refused with the report "{indication}"', "look the report up in the switch's manual"),
    )
