"""The first look at a datagram: sees what it is, and survives whatever it is."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.snmp import ber

from strandkeeper.snmp.peek import Glance, glance


def answer(version: int, number: int) -> bytes:
    asked = ber.Asked(version, b"look", ber.GET, number, 0, 0, ())
    return ber.response(asked, [((1, 3, 6, 1), ber.integer(5))], number=number)


# RFC 3412 section 6: version 3, then msgID, msgMaxSize, msgFlags, msgSecurityModel.
V3_HEAD = ber.tlv(
    ber.SEQUENCE,
    b"".join(
        ber.tlv(c.tag, c.body)
        for c in (ber.integer(4711), ber.integer(65507), ber.text("\x04"), ber.integer(3))
    ),
)
V3 = ber.tlv(ber.SEQUENCE, ber.tlv(ber.INTEGER, b"\x03") + V3_HEAD + ber.tlv(ber.OCTETS, b""))


@pytest.mark.parametrize("version", [0, 1])
@pytest.mark.parametrize("number", [0, 1, 255, 2**24 - 1, 2**31 - 1, -5])
def test_version_number_and_kind_are_seen(version: int, number: int) -> None:
    assert glance(answer(version, number)) == Glance(version, number, ber.RESPONSE)


def test_of_version_3_only_the_head_is_looked_at() -> None:
    assert glance(V3) == Glance(3, 4711, None)


@pytest.mark.parametrize("whole", [answer(1, 99), V3], ids=["v2c", "v3"])
def test_a_datagram_cut_anywhere_is_no_message(whole: bytes) -> None:
    assert [glance(whole[:n]) for n in range(len(whole))] == [None] * len(whole)


def test_what_follows_a_message_is_not_looked_at() -> None:
    assert glance(answer(1, 99) + b"tail") == Glance(1, 99, ber.RESPONSE)


@given(st.binary(max_size=200))
def test_any_octets_are_survived(data: bytes) -> None:
    glance(data)


@given(st.sampled_from([answer(1, 99), V3]), st.integers(0, 39), st.integers(0, 255))
def test_any_octet_altered_is_survived(whole: bytes, at: int, octet: int) -> None:
    at %= len(whole)
    glance(whole[:at] + bytes((octet,)) + whole[at + 1 :])
