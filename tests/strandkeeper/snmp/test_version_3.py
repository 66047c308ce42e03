"""SNMPv3: every pair of protocols, refusals in words, rebooted and replaced engines."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import pytest
from tests.strandkeeper.snmp.conftest import QUAY, MakeClient, target
from tests.strandkeeper.snmp.v3_agent import User, V3Agent

from strandkeeper.errors import NoAnswerError, RefusedError
from strandkeeper.model.names import SwitchName
from strandkeeper.model.oid import Oid
from strandkeeper.snmp.credentials import AUTH_PROTOCOLS, PRIV_PROTOCOLS, Community, Usm

SYS_NAME: Oid = (1, 3, 6, 1, 2, 1, 1, 5, 0)
READER = Usm(
    user="reader",
    auth_protocol="SHA-256",
    auth_key="tide-table-7",
    priv_protocol="AES-128",
    priv_key="spring-low-9",
)


def usm(user: User) -> Usm:
    return Usm(
        user=user.name,
        auth_protocol=user.auth,
        auth_key=user.auth_key,
        priv_protocol=user.priv,
        priv_key=user.priv_key,
    )


PAIRS = [
    *[User(auth=auth) for auth in AUTH_PROTOCOLS],
    *[User(priv=priv) for priv in PRIV_PROTOCOLS if priv != "AES-128"],
    User(priv=None, priv_key=None),
    User(auth=None, auth_key=None, priv=None, priv_key=None),
]


@pytest.mark.parametrize("user", PAIRS, ids=lambda u: f"{u.auth} {u.priv}")
async def test_every_pair_of_protocols_is_spoken(client_of: MakeClient, user: User) -> None:
    async with V3Agent(user) as agent:
        client = await client_of((target(agent.address, timeout_s=2), usm(user)))
        assert (await client.get(QUAY, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}
        assert len((await client.walk(QUAY, (1, 3, 6, 1, 2, 1, 1))).rows) == 2
        assert client.engine_id(QUAY) == agent.engine_id


@pytest.mark.parametrize(
    ("held", "reason"),
    [
        pytest.param(replace(READER, user="nobody"), "does not know the SNMPv3 user", id="user"),
        pytest.param(
            replace(READER, auth_key="tide-table-8"),
            "says the authentication does not fit",
            id="auth key",
        ),
        pytest.param(
            replace(READER, auth_protocol="SHA-512"),
            "says the authentication does not fit",
            id="auth protocol",
        ),
        pytest.param(
            replace(READER, priv_protocol=None, priv_key=None),
            "does not allow this user this security level",
            id="no privacy where the agent asks for it",
        ),
        pytest.param(
            Usm(user="reader"),
            "does not allow this user this security level",
            id="no authentication where the agent asks for it",
        ),
    ],
)
async def test_what_the_agent_refuses_is_said_in_words(
    client_of: MakeClient, held: Usm, reason: str
) -> None:
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=2), held))
        with pytest.raises(RefusedError) as caught:
            await client.get(QUAY, [SYS_NAME])
    assert reason in caught.value.message
    assert caught.value.hint
    assert "tide-table" not in str(caught.value)


@pytest.mark.parametrize(
    "held",
    [replace(READER, priv_key="spring-low-0"), replace(READER, priv_protocol="AES-256")],
    ids=["priv key", "priv protocol"],
)
async def test_a_wrong_privacy_key_is_named_whether_the_agent_reports_it_or_is_silent(
    client_of: MakeClient, held: Usm
) -> None:
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=0.4), held))
        with pytest.raises((RefusedError, NoAnswerError)) as caught:
            await client.get(QUAY, [SYS_NAME])
    assert "priv key and the priv protocol" in caught.value.hint


async def test_a_rebooted_engine_is_followed_without_a_word(client_of: MakeClient) -> None:
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=2, retries=0), READER))
        for _ in range(3):
            await client.get(QUAY, [SYS_NAME])
            await agent.reboot()
        assert (await client.get(QUAY, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}


async def test_a_replaced_switch_is_met_anew(client_of: MakeClient) -> None:
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=0.5, retries=1), READER))
        await client.get(QUAY, [SYS_NAME])
        await agent.replace(b"\x80\x00\x00\x00\x04other")
        assert (await client.get(QUAY, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}
        assert client.engine_id(QUAY) == b"\x80\x00\x00\x00\x04other"


async def test_one_user_name_with_other_keys_on_another_switch(client_of: MakeClient) -> None:
    other = User(auth_key="other-tide-1", priv_key="other-tide-2")
    async with (
        V3Agent() as first,
        V3Agent(other, engine_id=b"\x80\x00\x00\x00\x04jetty") as second,
    ):
        client = await client_of(
            (target(first.address, timeout_s=2), READER),
            (target(second.address, name="jetty", timeout_s=2), usm(other)),
        )
        for _ in range(3):
            for name in (QUAY, SwitchName("jetty")):
                assert (await client.get(name, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}


async def test_a_v3_agent_is_silent_to_a_community(client_of: MakeClient) -> None:
    async with V3Agent() as agent:
        held = Community(version="2c", text="public")
        client = await client_of((target(agent.address), held))
        with pytest.raises(NoAnswerError, match="did not answer"):
            await client.get(QUAY, [SYS_NAME])


async def test_wrong_keys_do_not_spoil_a_good_user_of_the_same_switch(
    client_of: MakeClient,
) -> None:
    async with V3Agent() as agent:
        client = await client_of(
            (target(agent.address, timeout_s=2), READER),
            (
                target(agent.address, name="typo", timeout_s=2),
                replace(READER, auth_key="tide-table-8"),
            ),
        )
        for _ in range(2):
            with pytest.raises(RefusedError):
                await client.get(SwitchName("typo"), [SYS_NAME])
            assert (await client.get(QUAY, [SYS_NAME])).complete


def test_no_repr_shows_a_key() -> None:
    assert "tide" not in repr(READER)
    assert "spring" not in repr(READER)


async def test_two_switches_with_one_engine_id_are_both_read_and_that_is_said(
    client_of: MakeClient,
) -> None:
    """A copied configuration: one engine ID, other boots and times, asked in turn."""
    async with V3Agent() as first, V3Agent() as second:
        first.jump(7_000)
        assert (first.engine_id, first.boots) != (second.engine_id, second.boots)
        client = await client_of(
            (target(first.address, timeout_s=2, retries=0), READER),
            (target(second.address, name="jetty", timeout_s=2, retries=0), READER),
        )
        for _ in range(6):
            for name in (QUAY, SwitchName("jetty")):
                assert (await client.get(name, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}
        assert client.engine_shared_with(QUAY) == ()  # the first of them that is asked about
        assert client.engine_shared_with(SwitchName("jetty")) == (QUAY,)
        assert client.engine_shared_with(QUAY) == ("jetty",)


async def test_one_switch_under_two_names_shares_its_engine_with_nobody(
    client_of: MakeClient,
) -> None:
    async with V3Agent() as agent:
        client = await client_of(
            (target(agent.address, timeout_s=2), READER),
            (target(agent.address, name="again", timeout_s=2), READER),
        )
        for name in (QUAY, SwitchName("again")):
            await client.get(name, [SYS_NAME])
            assert client.engine_shared_with(name) == ()


async def test_boots_that_go_back_are_followed(client_of: MakeClient) -> None:
    """The agent lost its storage: it counts its boots from one again."""
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=2, retries=0), READER))
        for _ in range(3):
            await agent.reboot()
        before = agent.boots
        await client.get(QUAY, [SYS_NAME])
        await agent.forget_boots()
        assert agent.boots < before
        assert (await client.get(QUAY, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}


@pytest.mark.parametrize("seconds", [151, 10_000, -10_000])
async def test_who_slept_through_the_time_window_asks_the_time_anew(
    client_of: MakeClient, seconds: int
) -> None:
    """150 s (RFC 3414, 2.2.3): to the agent's clock we have been away for longer."""
    async with V3Agent() as agent:
        client = await client_of((target(agent.address, timeout_s=2, retries=0), READER))
        await client.get(QUAY, [SYS_NAME])
        agent.jump(seconds)
        assert (await client.get(QUAY, [SYS_NAME])).values == {SYS_NAME: b"quay-1"}


def test_privacy_without_a_cipher_library_is_said_before_anything_is_asked() -> None:
    """In a process of its own, in which that library cannot be imported."""
    script = (
        "import sys; sys.modules['cryptography'] = None\n"
        "from strandkeeper.errors import SecretError\n"
        "from strandkeeper.model.switch import SecretKind, SecretRef, UsmRef\n"
        "from strandkeeper.snmp.credentials import credential\n"
        "key = SecretRef(kind=SecretKind.FILE, where='x')\n"
        "ref = UsmRef(user='reader', auth_protocol='SHA-256', auth_key=key,\n"
        "             priv_protocol='AES-128', priv_key=key)\n"
        "try: credential(ref, lambda _: 'long enough')\n"
        "except SecretError as error: print(error.message, error.hint, sep='; ')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout == (
        'SNMPv3 user "reader" has privacy, and this computer has no ciphers for it; '
        "install the Python package cryptography beside Strandkeeper\n"
    )
