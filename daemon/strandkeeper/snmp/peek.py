"""A first look at a datagram: version, message identifier, kind of PDU. Nothing is trusted.

Bounds-checked and cheap, so that what cannot be an answer is dropped before the full decoder sees
it: late answers, duplicates, answers from elsewhere, nonsense. BER as in X.690; the message of
RFC 1157/RFC 1901 for v1 and v2c, of RFC 3412 section 6 for v3.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Glance", "glance"]

_SEQUENCE, _INTEGER, _OCTETS = 0x30, 0x02, 0x04
_V3 = 3


@dataclass(frozen=True, slots=True)
class Glance:
    """`number` is the request-id (v1, v2c) or msgID (v3); `pdu_tag` None: v3, not looked into."""

    version: int
    number: int
    pdu_tag: int | None


def glance(data: bytes) -> Glance | None:
    """What the datagram says it is; None if it cannot be SNMP."""
    try:
        return _glance(data)
    except (IndexError, ValueError):
        return None


def _glance(data: bytes) -> Glance:
    at, _ = _open(data, 0, _SEQUENCE)
    version, at = _integer(data, at)
    if version == _V3:
        header, _ = _open(data, at, _SEQUENCE)
        number, _ = _integer(data, header)
        return Glance(version, number, None)
    start, length = _open(data, at, _OCTETS)  # community
    pdu_at = start + length
    tag = data[pdu_at]
    start, _ = _open(data, pdu_at, tag)
    number, _ = _integer(data, start)
    return Glance(version, number, tag)


def _open(data: bytes, at: int, tag: int) -> tuple[int, int]:
    """Where the contents of the element at `at` begin, and their length."""
    if data[at] != tag:
        raise ValueError(tag)
    length = data[at + 1]
    at += 2
    if length & 0x80:
        octets = length & 0x7F
        if not 0 < octets <= 4:
            raise ValueError(length)
        length = int.from_bytes(data[at : at + octets], "big")
        at += octets
    if at + length > len(data):
        raise ValueError(length)
    return at, length


def _integer(data: bytes, at: int) -> tuple[int, int]:
    start, length = _open(data, at, _INTEGER)
    if not 0 < length <= 5:
        raise ValueError(length)
    return int.from_bytes(data[start : start + length], "big", signed=True), start + length
