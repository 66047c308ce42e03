"""Varbinds read by hand are what the library makes of them, and nothing else is read."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pyasn1.codec.ber import decoder, encoder  # type: ignore[import-untyped]
from pyasn1.error import PyAsn1Error  # type: ignore[import-untyped]
from pysnmp.proto import rfc1902, rfc1905
from pysnmp.proto.api import v2c
from tests.strandkeeper.snmp import ber

from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.snmp.pdus import plain
from strandkeeper.snmp.varbinds import read_varbinds

names = st.tuples(
    st.sampled_from([(0, 0), (1, 3), (1, 39), (2, 0), (2, 999)]),
    st.lists(st.integers(0, 2**32 - 1), max_size=20),
).map(lambda parts: (*parts[0], *parts[1]))
values = st.one_of(
    st.integers(-(2**31), 2**31 - 1).map(rfc1902.Integer32),
    st.integers(0, 2**32 - 1).map(rfc1902.Counter32),
    st.integers(0, 2**32 - 1).map(rfc1902.Gauge32),
    st.integers(0, 2**32 - 1).map(rfc1902.TimeTicks),
    st.integers(0, 2**64 - 1).map(rfc1902.Counter64),
    st.binary(max_size=300).map(rfc1902.OctetString),
    st.binary(max_size=20).map(rfc1902.Opaque),
    st.binary(min_size=4, max_size=4).map(rfc1902.IpAddress),
    names.map(rfc1902.ObjectIdentifier),
    st.sampled_from([rfc1905.noSuchObject, rfc1905.noSuchInstance, rfc1905.endOfMibView]),
    st.just(v2c.Null("")),
)


def encoded(pairs: list[tuple[Oid, Any]]) -> bytes:
    """A VarBindList made by the library."""
    listed = rfc1905.VarBindList()
    listed.clear()  # an empty list, not a form of one
    for pair in pairs:
        bound = rfc1905.VarBind()
        v2c.apiVarBind.set_oid_value(bound, pair)
        listed.append(bound)
    return bytes(encoder.encode(listed))


def by_the_library(data: bytes) -> list[tuple[Oid, Value]]:
    """What the library reads. Raises PyAsn1Error and whatever else it raises on damaged octets."""
    listed, rest = decoder.decode(data, asn1Spec=rfc1905.VarBindList())
    if rest:
        raise PyAsn1Error("more than a list")
    pairs = (v2c.apiVarBind.get_oid_value(bound) for bound in listed)
    return [(name.asTuple(), plain(value)) for name, value in pairs]


@given(st.lists(st.tuples(names, values), max_size=8))
@example([((1, 3, 6, 1, 2**32 - 1), rfc1902.Counter64(2**64 - 1))])
def test_every_value_is_read_as_the_library_reads_it(pairs: list[tuple[Oid, Any]]) -> None:
    data = encoded(pairs)
    assert read_varbinds(data) == by_the_library(data)
    assert [name for name, _ in read_varbinds(data)] == [name for name, _ in pairs]


@settings(max_examples=400)
@given(st.lists(st.tuples(names, values), min_size=1, max_size=3), st.data())
def test_damaged_octets_are_refused_or_read_as_the_library_reads_them(
    pairs: list[tuple[Oid, Any]], data: st.DataObject
) -> None:
    whole = bytearray(encoded(pairs))
    for _ in range(data.draw(st.integers(1, 3))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        found = read_varbinds(bytes(whole))
    except (ValueError, IndexError):
        return
    assert found == by_the_library(bytes(whole))


@given(st.binary(max_size=80))
def test_any_octets_are_survived(data: bytes) -> None:
    try:
        found = read_varbinds(data)
    except (ValueError, IndexError):
        return
    assert found == by_the_library(data)


def bound(name: bytes, value: bytes) -> bytes:
    pair = ber.tlv(ber.SEQUENCE, name + value)
    return ber.tlv(ber.SEQUENCE, pair)


NAME = ber.tlv(ber.OID_TAG, ber.oid_body((1, 3, 6, 1)))


@pytest.mark.parametrize(
    ("value", "meaning"),
    [
        (b"\x80\x00", Absent.NO_SUCH_OBJECT),  # RFC 3416, section 3
        (b"\x81\x00", Absent.NO_SUCH_INSTANCE),
        (b"\x82\x00", Absent.END_OF_VIEW),
        (b"\x41\x05\x00\xff\xff\xff\xff", 2**32 - 1),  # RFC 2578, 7.1.6
        (b"\x46\x09\x00\xff\xff\xff\xff\xff\xff\xff\xff", 2**64 - 1),  # RFC 2578, 7.1.10
        (b"\x02\x01\xff", -1),  # X.690, 8.3
        (b"\x06\x02\x88\x37", (2, 999)),  # X.690, 8.19, as its own example {2 999}
        (b"\x40\x04\x7f\x00\x00\x01", b"\x7f\x00\x00\x01"),
    ],
)
def test_a_value_means_what_the_standard_says(value: bytes, meaning: Value) -> None:
    assert read_varbinds(bound(NAME, value)) == [((1, 3, 6, 1), meaning)]


@pytest.mark.parametrize(
    "value",
    [
        b"\x41\x04\xff\xff\xff\xff",  # a count below nought
        b"\x41\x05\x01\x00\x00\x00\x00",  # and one of 33 bits
        b"\x02\x00",
        b"\x40\x03\x7f\x00\x00",
        b"\x05\x01\x00",
        b"\x24\x03\x04\x01a",  # a string in pieces
        b"\x06\x03\x2b\x80\x01",  # a figure with a leading nought
        b"\x06\x02\x2b\x81",  # and one that does not end
        b"\x47\x01\x00",
        b"\x04\x02a",  # longer than its list
        b"\x04\x01ab",  # with more behind it
    ],
)
def test_what_is_not_plain_is_left_to_the_library(value: bytes) -> None:
    with pytest.raises((ValueError, IndexError)):
        read_varbinds(bound(NAME, value))
