"""The names and values of an answer, read straight from its octets.

More than half of a poll was the library's way of making an object of each element. Here the clean
encodings that agents send (X.690, RFC 3416 section 3, RFC 2578 section 7.1) are read without it.
Whatever is not plainly one of those raises ValueError: the library then reads it, and decides.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial
from typing import Final

from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.snmp.ber import SEQUENCE, open_element

__all__ = ["read_varbinds"]

_OBJECT_IDENTIFIER: Final = 0x06
_KEPT_NAMES = 16_384  # a poll asks the same names for ever
_LONGEST_NAME = 1024  # octets; 128 figures of at most five octets are a name (RFC 2578, 3.5)


def read_varbinds(data: bytes) -> list[tuple[Oid, Value]]:
    """Each name with its value, out of one encoded VarBindList.

    Raises ValueError or IndexError for anything but a clean encoding.
    """
    at, length = open_element(data, 0, SEQUENCE)
    end = at + length
    if end != len(data):
        raise ValueError(end)
    found: list[tuple[Oid, Value]] = []
    while at < end:
        at, length = open_element(data, at, SEQUENCE)
        next_at = at + length
        name_at, name_length = open_element(data, at, _OBJECT_IDENTIFIER)
        value_at = name_at + name_length
        tag = data[value_at]
        value_start, value_length = open_element(data, value_at, tag)
        if value_start + value_length != next_at or tag not in _VALUES:
            raise ValueError(tag)
        name = _name(data[name_at:value_at])
        found.append((name, _VALUES[tag](data[value_start:next_at])))
        at = next_at
    if at != end:
        raise ValueError(at)
    return found


@lru_cache(_KEPT_NAMES)
def _name(body: bytes) -> Oid:
    """An object identifier from its contents (X.690, 8.19)."""
    if not body or len(body) > _LONGEST_NAME or body[-1] & 0x80:
        raise ValueError(body)
    figures: list[int] = []
    figure, begun = 0, False
    for octet in body:
        if octet == 0x80 and not begun:  # a figure begins with as few octets as it needs
            raise ValueError(body)
        figure, begun = figure << 7 | octet & 0x7F, bool(octet & 0x80)
        if not begun:
            figures.append(figure)
            figure = 0
    first = min(2, figures[0] // 40)
    return (first, figures[0] - 40 * first, *figures[1:])


def _figure(least: int, most: int, body: bytes) -> int:
    if not 0 < len(body) <= 9:
        raise ValueError(body)
    number = int.from_bytes(body, "big", signed=True)
    if not least <= number <= most:
        raise ValueError(number)
    return number


def _octets(body: bytes) -> bytes:
    return body


def _address(body: bytes) -> bytes:
    if len(body) != 4:
        raise ValueError(body)
    return body


def _nothing(meaning: Absent, body: bytes) -> Absent:
    if body:
        raise ValueError(body)
    return meaning


_UNSIGNED_32 = partial(_figure, 0, 2**32 - 1)
_VALUES: Final[dict[int, Callable[[bytes], Value]]] = {
    0x02: partial(_figure, -(2**31), 2**31 - 1),
    0x04: _octets,
    0x05: partial(_nothing, Absent.FAILED),
    _OBJECT_IDENTIFIER: _name,
    0x40: _address,
    0x41: _UNSIGNED_32,
    0x42: _UNSIGNED_32,
    0x43: _UNSIGNED_32,
    0x44: _octets,
    0x46: partial(_figure, 0, 2**64 - 1),
    0x80: partial(_nothing, Absent.NO_SUCH_OBJECT),
    0x81: partial(_nothing, Absent.NO_SUCH_INSTANCE),
    0x82: partial(_nothing, Absent.END_OF_VIEW),
}
