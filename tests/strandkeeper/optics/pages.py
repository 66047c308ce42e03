"""Module pages built by hand for the decoder's tests; offsets straight from SFF-8472 Rev 12.2."""

from __future__ import annotations

from collections.abc import Mapping


def a0_page(**bytes_at: int) -> bytes:
    """An SFP's serial ID page with right checksums; keywords such as b14=0x0A set bytes."""
    page = bytearray(256)
    page[0], page[1], page[2] = 0x03, 0x04, 0x07
    page[11], page[12] = 0x01, 0x0D
    page[14], page[15] = 0x0A, 0x64
    page[20:36] = b"INVENTED        "
    page[40:56] = b"PART-1          "
    page[60:62] = (1310).to_bytes(2, "big")
    page[68:84] = b"SERIAL-1        "
    page[84:92] = b"240229A1"
    page[92], page[93], page[94] = 0x68, 0xB0, 0x08
    for name, value in bytes_at.items():
        page[int(name.removeprefix("b"))] = value
    return with_a0_checksums(page)


def with_a0_checksums(page: bytearray) -> bytes:
    page[63] = sum(page[0:63]) & 0xFF
    page[95] = sum(page[64:95]) & 0xFF
    return bytes(page)


def a2_page(values: Mapping[int, bytes] | None = None) -> bytes:
    """A diagnostics page with a right checksum; keys are offsets."""
    page = bytearray(256)
    page[96:106] = (
        (25 * 256).to_bytes(2, "big")
        + (33000).to_bytes(2, "big")
        + (3000).to_bytes(2, "big")
        + (5012).to_bytes(2, "big")
        + (1000).to_bytes(2, "big")
    )
    for offset, content in (values or {}).items():
        page[offset : offset + len(content)] = content
    page[95] = sum(page[0:95]) & 0xFF
    return bytes(page)
