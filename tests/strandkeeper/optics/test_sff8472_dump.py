"""Dumps in every usual layout come out as the same bytes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.strandkeeper.optics.pages import a0_page, a2_page

from strandkeeper.errors import DecodeError
from strandkeeper.optics.sff8472.dump import pages_from_bytes, read_hex_text

A0, A2 = a0_page(), a2_page()


def lines(data: bytes, width: int = 16) -> Sequence[tuple[int, bytes]]:
    return [(i, data[i : i + width]) for i in range(0, len(data), width)]


def shown(row: bytes) -> str:
    return "".join(chr(b) if 0x20 <= b < 0x7F else "." for b in row)


def colon_with_text(data: bytes) -> str:
    """A ruler, an address of two digits with a colon, bytes, the text beside."""
    ruler = "     0  1  2  3  4  5  6  7  8  9  a  b  c  d  e  f    0123456789abcdef"
    rows = [f"{i:02x}: {r.hex(' ')}    {shown(r)}" for i, r in lines(data)]
    return "\n".join([ruler, *rows])


def pairs_with_text(data: bytes) -> str:
    """Eight digits and a colon, bytes in pairs, two blanks, the text."""
    return "\n".join(f"{i:08x}: {r.hex(' ', 2):<39}  {shown(r)}" for i, r in lines(data))


def bars_with_text(data: bytes) -> str:
    """Eight digits, bytes with a gap in the middle, the text between bars; last the length."""
    rows = [f"{i:08x}  {r[:8].hex(' ')}  {r[8:].hex(' ')}  |{shown(r)}|" for i, r in lines(data)]
    return "\n".join([*rows, f"{len(data):08x}"])


def offset_and_values(data: bytes) -> str:
    """A title, 0x and a colon, a tab, bytes."""
    rows = [f"0x{i:04x}:\t\t{r.hex(' ')} " for i, r in lines(data)]
    return "\n".join(["Offset\t\tValues", "------\t\t------", *rows])


def plain(data: bytes) -> str:
    return data.hex()


def blanks(data: bytes) -> str:
    return "\n".join(r.hex(" ") for _, r in lines(data))


def array(data: bytes) -> str:
    return ", ".join(f"0x{b:02X}" for b in data)


def eight_a_line(data: bytes) -> str:
    return "\n".join(f"{i:04x}: {r.hex(' ')}" for i, r in lines(data, 8))


LAYOUTS = (
    colon_with_text,
    pairs_with_text,
    bars_with_text,
    offset_and_values,
    plain,
    blanks,
    array,
    eight_a_line,
)


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("data", [A0, A0 + A2], ids=["256", "512"])
def test_each_layout(layout: Callable[[bytes], str], data: bytes) -> None:
    found = pages_from_bytes(layout(data).encode())
    assert found.a0 == A0
    assert found.a2 == (A2 if len(data) == 512 else None)


@pytest.mark.parametrize("layout", [colon_with_text, pairs_with_text, bars_with_text])
@given(data=st.binary(min_size=256, max_size=256))
def test_text_beside_is_never_taken_for_bytes(layout: Callable[[bytes], str], data: bytes) -> None:
    """The text may look like hexadecimal: all of it does when every byte is a letter a to f."""
    assert read_hex_text(layout(data)) == data


@pytest.mark.parametrize("letter", [b"a", b"f", b"0", b"|", b":"])
@pytest.mark.parametrize("layout", [colon_with_text, pairs_with_text, bars_with_text])
def test_text_that_looks_like_bytes(layout: Callable[[bytes], str], letter: bytes) -> None:
    assert read_hex_text(layout(letter * 256)) == letter * 256


def test_two_dumps_one_after_the_other_are_two_pages() -> None:
    both = colon_with_text(A0) + "\n\n" + colon_with_text(A2)
    found = pages_from_bytes(both.encode())
    assert (found.a0, found.a2) == (A0, A2)


def test_binary_is_taken_as_it_is() -> None:
    found = pages_from_bytes(A0 + A2)
    assert (found.a0, found.a2) == (A0, A2)


def test_a_diagnostics_page_alone_is_recognised_by_its_checksum() -> None:
    page = a2_page({0: b"\x5a\x00\xd3"})
    found = pages_from_bytes(page)
    assert found.a0 is None
    assert found.a2 == page
    assert "right only as an A2h page" in found.remarks[0]


def test_bytes_beyond_the_two_pages_are_left_aside_and_said() -> None:
    found = pages_from_bytes(A0 + A2 + bytes(128))
    assert found.a2 == A2
    assert found.remarks == ("128 bytes after the two pages were left aside",)


def test_bytes_marked_unreadable_end_the_page() -> None:
    text = colon_with_text(A0).replace("00: 03 04 07", "00: 03 04 XX")
    remarks: list[str] = []
    assert read_hex_text(text, remarks) == b"\x03\x04"
    assert remarks == ["byte 2 is marked as unreadable: it and all after it are left out"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "the file is empty"),
        ("   \n\n", "the file is empty"),
        ("03 04 0", "no whole number of bytes"),
        ("hello world", "'h' is no hexadecimal digit"),
        ("00: 03 04 07 10\n20: 01 02 03 04", "has 4 bytes and the next one starts at 20"),
        ("XX XX XX", "no byte could be read"),
    ],
)
def test_what_is_no_dump_is_refused_with_a_reason(text: str, message: str) -> None:
    with pytest.raises(DecodeError, match=message):
        pages_from_bytes(text.encode())
