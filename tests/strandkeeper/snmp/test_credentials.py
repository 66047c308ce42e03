"""Credentials out of references: checked, remarked on, never shown."""

from __future__ import annotations

import pytest

from strandkeeper.errors import SecretError
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, UsmRef
from strandkeeper.snmp.credentials import (
    AUTH_PROTOCOLS,
    PRIV_PROTOCOLS,
    Community,
    Usm,
    credential,
    remarks,
)

KEY = SecretRef(kind=SecretKind.FILE, where="/etc/keys/auth")
OTHER = SecretRef(kind=SecretKind.FILE, where="/etc/keys/priv")
KNOWN = {KEY: "spring-tide-4", OTHER: "neap-tide-5"}


def of(ref: CommunityRef | UsmRef) -> Community | Usm:
    return credential(ref, KNOWN.__getitem__)


def test_a_community_is_resolved() -> None:
    assert of(CommunityRef(version="1", community=KEY)) == Community(
        version="1", text="spring-tide-4"
    )


def test_a_user_is_resolved_with_both_keys() -> None:
    ref = UsmRef(
        user="u", auth_protocol="SHA-256", auth_key=KEY, priv_protocol="AES-128", priv_key=OTHER
    )
    held = of(ref)
    assert isinstance(held, Usm)
    assert (held.auth_key, held.priv_key, held.level) == (
        "spring-tide-4",
        "neap-tide-5",
        "authPriv",
    )
    assert remarks(held) == ()


@pytest.mark.parametrize(
    ("ref", "message"),
    [
        (
            UsmRef(user="u", auth_protocol="SHA"),
            "the SNMPv3 auth protocol and its key belong together, and one of them is missing",
        ),
        (
            UsmRef(user="u", auth_protocol="SHA", auth_key=KEY, priv_key=OTHER),
            "the SNMPv3 priv protocol and its key belong together, and one of them is missing",
        ),
        (
            UsmRef(user="u", priv_protocol="DES", priv_key=OTHER),
            'SNMPv3 user "u" has privacy without authentication, which does not exist',
        ),
        (
            UsmRef(user="u", auth_protocol="SHA3", auth_key=KEY),
            '"SHA3" is no SNMPv3 protocol known here',
        ),
    ],
)
def test_what_does_not_fit_together_is_said(ref: UsmRef, message: str) -> None:
    with pytest.raises(SecretError) as caught:
        of(ref)
    assert caught.value.message == message
    assert caught.value.hint


def test_a_key_that_no_switch_takes_is_refused_without_being_shown() -> None:
    ref = UsmRef(user="u", auth_protocol="SHA", auth_key=KEY)
    with pytest.raises(SecretError) as caught:
        credential(ref, lambda _: "tide-4")
    assert caught.value.message == (
        "the SNMPv3 auth key in /etc/keys/auth is shorter than 8 characters"
    )
    assert "tide-4" not in str(caught.value)


def test_the_strength_of_a_credential_is_remarked_on() -> None:
    assert "in the clear" in remarks(Community(version="2c", text="x"))[0]
    assert "proves nothing and hides nothing" in remarks(Usm(user="u"))[0]
    assert "in the clear" in remarks(Usm(user="u", auth_protocol="SHA", auth_key="x" * 8))[0]
    old = Usm(
        user="u", auth_protocol="MD5", auth_key="x" * 8, priv_protocol="DES", priv_key="y" * 8
    )
    assert remarks(old) == ("MD5 and DES are outdated: SHA-256 with AES-128 is safer",)


def test_the_protocols_are_those_of_the_standards_and_the_two_longer_keys() -> None:
    assert AUTH_PROTOCOLS[0] == "MD5"
    assert set(PRIV_PROTOCOLS) >= {"DES", "AES-128"}
