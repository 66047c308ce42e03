"""The few elements of BER (X.690) that are read before the full decoder: bounds-checked, no copies.

Every function raises ValueError or IndexError where the octets are not what they should be.
"""

from __future__ import annotations

from typing import Final

__all__ = ["SEQUENCE", "integer", "octets", "open_element"]

SEQUENCE: Final = 0x30
_INTEGER: Final = 0x02
_OCTETS: Final = 0x04


def open_element(data: bytes, at: int, tag: int) -> tuple[int, int]:
    """Where the contents of the element at `at` begin, and their length."""
    if data[at] != tag:
        raise ValueError(tag)
    length = data[at + 1]
    at += 2
    if length & 0x80:
        octet_count = length & 0x7F
        if not 0 < octet_count <= 4:
            raise ValueError(length)
        length = int.from_bytes(data[at : at + octet_count], "big")
        at += octet_count
    if at + length > len(data):
        raise ValueError(length)
    return at, length


def octets(data: bytes, at: int) -> tuple[bytes, int]:
    """The octet string at `at`, and where the next element begins."""
    start, length = open_element(data, at, _OCTETS)
    return data[start : start + length], start + length


def integer(data: bytes, at: int) -> tuple[int, int]:
    """The integer of at most 32 bits at `at`, and where the next element begins."""
    start, length = open_element(data, at, _INTEGER)
    if not 0 < length <= 5:
        raise ValueError(length)
    return int.from_bytes(data[start : start + length], "big", signed=True), start + length
