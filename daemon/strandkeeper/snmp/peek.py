"""A first look at a datagram: version, message identifier, kind of PDU. Nothing is trusted.

Bounds-checked and cheap, so that what cannot be an answer is dropped before the full decoder sees
it: late answers, duplicates, answers from elsewhere, nonsense. BER as in X.690; the message of
RFC 1157/RFC 1901 for v1 and v2c, of RFC 3412 section 6 for v3.
"""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.snmp.ber import SEQUENCE, integer, octets, open_element

__all__ = ["Glance", "glance"]

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
    at, _ = open_element(data, 0, SEQUENCE)
    version, at = integer(data, at)
    if version == _V3:
        header, _ = open_element(data, at, SEQUENCE)
        number, _ = integer(data, header)
        return Glance(version, number, None)
    _community, pdu_at = octets(data, at)
    tag = data[pdu_at]
    start, _ = open_element(data, pdu_at, tag)
    number, _ = integer(data, start)
    return Glance(version, number, tag)
