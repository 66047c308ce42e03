"""The little of BER and SNMP that a reading-only responder needs: v1 and v2c, GET and its like.

Source: RFC 3416 and RFC 1157 (PDUs), RFC 3417 section 8 (the subset of BER, ITU-T X.690).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from strandkeeper_demo.mib import Oid, Syntax, Value

__all__ = [
    "END_OF_VIEW",
    "GET",
    "GET_BULK",
    "GET_NEXT",
    "NO_SUCH_INSTANCE",
    "NO_SUCH_OBJECT",
    "NULL",
    "BadMessageError",
    "Request",
    "encode_response",
    "encode_value",
    "read_request",
    "varbind",
]

GET, GET_NEXT, RESPONSE, GET_BULK = 0xA0, 0xA1, 0xA2, 0xA5
INTEGER, OCTETS, NULL_TAG, OBJECT, SEQUENCE = 0x02, 0x04, 0x05, 0x06, 0x30

NULL: Final = bytes((NULL_TAG, 0))
NO_SUCH_OBJECT: Final = bytes((0x80, 0))
NO_SUCH_INSTANCE: Final = bytes((0x81, 0))
END_OF_VIEW: Final = bytes((0x82, 0))

_TAGS: Final = {
    Syntax.INTEGER: INTEGER,
    Syntax.TEXT: OCTETS,
    Syntax.OID: OBJECT,
    Syntax.COUNTER32: 0x41,
    Syntax.GAUGE: 0x42,
    Syntax.TICKS: 0x43,
    Syntax.COUNTER64: 0x46,
}


class BadMessageError(ValueError):
    """A datagram that is no request of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """One request. `first`, `second`: error fields, or non-repeaters and max-repetitions."""

    version: int
    community: bytes
    tag: int
    number: int
    first: int
    second: int
    oids: tuple[Oid, ...]


def read_request(datagram: bytes) -> Request:
    """Take a request apart. Raises BadMessageError."""
    try:
        (_, message), *_ = _parts(datagram)
        (_, version), (_, community), (tag, pdu), *_ = _parts(message)
        (_, number), (_, first), (_, second), (_, bindings), *_ = _parts(pdu)
        oids = tuple(_asked(binding) for _, binding in _parts(bindings))
    except (ValueError, IndexError) as error:
        raise BadMessageError(f"not an SNMP request: {error}") from error
    return Request(
        version=_number(version),
        community=community,
        tag=tag,
        number=_number(number),
        first=_number(first),
        second=_number(second),
        oids=oids,
    )


def encode_response(
    request: Request, bindings: Sequence[bytes], *, status: int = 0, index: int = 0
) -> bytes:
    """The response to a request."""
    fields = b"".join(_integer(n) for n in (request.number, status, index))
    pdu = _tlv(RESPONSE, fields + _tlv(SEQUENCE, b"".join(bindings)))
    return _tlv(SEQUENCE, _integer(request.version) + _tlv(OCTETS, request.community) + pdu)


def varbind(oid: Oid, value: bytes) -> bytes:
    """One variable with its encoded value."""
    return _tlv(SEQUENCE, _tlv(OBJECT, bytes(_arcs(oid))) + value)


def encode_value(syntax: Syntax, value: Value) -> bytes:
    """One value."""
    if isinstance(value, int):
        return _tlv(_TAGS[syntax], _integer_octets(value))
    if isinstance(value, tuple):
        return _tlv(OBJECT, bytes(_arcs(value)))
    return _tlv(OCTETS, value.encode() if isinstance(value, str) else value)


def _integer(value: int) -> bytes:
    return _tlv(INTEGER, _integer_octets(value))


def _integer_octets(value: int) -> bytes:
    return value.to_bytes(value.bit_length() // 8 + 1, "big", signed=True)


def _number(octets: bytes) -> int:
    return int.from_bytes(octets, "big", signed=True)


def _tlv(tag: int, content: bytes) -> bytes:
    size = len(content)
    if size < 128:
        return bytes((tag, size)) + content
    octets = size.to_bytes((size.bit_length() + 7) // 8, "big")
    return bytes((tag, 0x80 | len(octets))) + octets + content


def _parts(content: bytes) -> Iterator[tuple[int, bytes]]:
    """The elements of a constructed value. Raises ValueError, IndexError."""
    place = 0
    while place < len(content):
        tag, size, place = content[place], content[place + 1], place + 2
        if size & 0x80:
            octets = content[place : place + (size & 0x7F)]
            size, place = int.from_bytes(octets, "big"), place + (size & 0x7F)
        if place + size > len(content):
            raise ValueError("an element is longer than its message")
        yield tag, content[place : place + size]
        place += size


def _asked(binding: bytes) -> Oid:
    """The object of a varbind; what stands for its value does not matter. Raises ValueError."""
    (_, octets), *_ = _parts(binding)
    return _oid(octets)


def _arcs(oid: Oid) -> Iterable[int]:
    """The octets of an object identifier: 7 bits each, high bit on all but the last of an arc."""
    if len(oid) < 2:
        oid = (*oid, 0, 0)[:2]
    for arc in (oid[0] * 40 + oid[1], *oid[2:]):
        groups = [arc & 0x7F]
        while arc := arc >> 7:
            groups.append(0x80 | (arc & 0x7F))
        yield from reversed(groups)


def _oid(octets: bytes) -> Oid:
    arcs, arc = [], 0
    for octet in octets:
        arc = arc << 7 | octet & 0x7F
        if not octet & 0x80:
            arcs.append(arc)
            arc = 0
    head = min(arcs[0] // 40, 2)
    return (head, arcs[0] - 40 * head, *arcs[1:])
