"""SNMP v1 and v2c messages by hand, for agents in tests that must be able to misbehave.

Nothing is shared with the product or with the library it uses (RFC 1157, RFC 3416, X.690).
"""

from __future__ import annotations

from dataclasses import dataclass

Oid = tuple[int, ...]

INTEGER, OCTETS, NULL, OID_TAG, SEQUENCE = 0x02, 0x04, 0x05, 0x06, 0x30
COUNTER32, GAUGE32, TICKS, COUNTER64 = 0x41, 0x42, 0x43, 0x46
NO_SUCH_OBJECT, NO_SUCH_INSTANCE, END_OF_VIEW = 0x80, 0x81, 0x82
GET, NEXT, RESPONSE, SET, BULK = 0xA0, 0xA1, 0xA2, 0xA3, 0xA5


@dataclass(frozen=True, slots=True)
class Cell:
    """A value with its type on the wire."""

    tag: int
    body: bytes


def integer(value: int, tag: int = INTEGER) -> Cell:
    return Cell(tag, value.to_bytes(value.bit_length() // 8 + 1, "big", signed=True))


def counter32(value: int) -> Cell:
    return integer(value, COUNTER32)


def counter64(value: int) -> Cell:
    return integer(value, COUNTER64)


def gauge(value: int) -> Cell:
    return integer(value, GAUGE32)


def ticks(value: int) -> Cell:
    return integer(value, TICKS)


def text(value: str) -> Cell:
    return Cell(OCTETS, value.encode())


def pointer(value: Oid) -> Cell:
    return Cell(OID_TAG, oid_body(value))


def nothing(tag: int) -> Cell:
    return Cell(tag, b"")


def tlv(tag: int, body: bytes) -> bytes:
    size = len(body)
    if size < 128:
        return bytes((tag, size)) + body
    octets = size.to_bytes((size.bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(octets))) + octets + body


def oid_body(oid: Oid) -> bytes:
    out = bytearray([oid[0] * 40 + oid[1]])
    for arc in oid[2:]:
        groups = [arc & 127]
        while arc := arc >> 7:
            groups.append(arc & 127 | 128)
        out += bytes(reversed(groups))
    return bytes(out)


def read_oid(body: bytes) -> Oid:
    out, arc = [body[0] // 40, body[0] % 40], 0
    for octet in body[1:]:
        arc = arc << 7 | octet & 127
        if not octet & 128:
            out.append(arc)
            arc = 0
    return tuple(out)


def element(data: bytes, at: int) -> tuple[int, bytes, int]:
    """Tag, contents and where the next element begins."""
    tag, size = data[at], data[at + 1]
    at += 2
    if size & 128:
        count = size & 127
        size = int.from_bytes(data[at : at + count], "big")
        at += count
    return tag, data[at : at + size], at + size


@dataclass(frozen=True, slots=True)
class Asked:
    """A request as it came in; `first` and `second` are error-status and -index, or of a GETBULK
    non-repeaters and max-repetitions."""

    version: int
    community: bytes
    kind: int
    number: int
    first: int
    second: int
    oids: tuple[Oid, ...]


def read_request(data: bytes) -> Asked:
    _, message, _ = element(data, 0)
    _, version, at = element(message, 0)
    _, community, at = element(message, at)
    kind, pdu, _ = element(message, at)
    _, number, at = element(pdu, 0)
    _, first, at = element(pdu, at)
    _, second, at = element(pdu, at)
    _, listed, _ = element(pdu, at)
    oids, at = [], 0
    while at < len(listed):
        _, varbind, at = element(listed, at)
        _, name, _ = element(varbind, 0)
        oids.append(read_oid(name))
    numbers = (int.from_bytes(n, "big", signed=True) for n in (version, number, first, second))
    v, n, a, b = numbers
    return Asked(v, community, kind, n, a, b, tuple(oids))


def response(
    asked: Asked, varbinds: list[tuple[Oid, Cell]], *, status: int = 0, index: int = 0, number: int
) -> bytes:
    listed = b"".join(
        tlv(SEQUENCE, tlv(OID_TAG, oid_body(oid)) + tlv(cell.tag, cell.body))
        for oid, cell in varbinds
    )
    head = b"".join(tlv(c.tag, c.body) for c in map(integer, (number, status, index)))
    pdu = tlv(RESPONSE, head + tlv(SEQUENCE, listed))
    version = integer(asked.version)
    return tlv(SEQUENCE, tlv(INTEGER, version.body) + tlv(OCTETS, asked.community) + pdu)
