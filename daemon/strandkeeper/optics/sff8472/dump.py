"""Module pages from a file: binary, or hexadecimal text in the usual layouts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import DecodeError

__all__ = ["RawPages", "pages_from_bytes", "read_hex_text"]

_TEXT: Final = frozenset(b"\t\n\r\f" + bytes(range(0x20, 0x7F)))
_ADDRESS: Final = re.compile(r"^\s*(?:0x)?([0-9A-Fa-f]{2,8})\s*:\s*(.*)$")
_BARE_ADDRESS: Final = re.compile(r"^\s*(?:0x)?([0-9A-Fa-f]{4,8})\s{2,}(.*)$")
_BYTE: Final = re.compile(r"[ ,]*(?:0x)?([0-9A-Fa-f]{2}|XX)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class RawPages:
    """Bytes of the two pages as far as they were given, and what was left aside, in sentences."""

    a0: bytes | None = None
    a2: bytes | None = None
    remarks: tuple[str, ...] = ()


def pages_from_bytes(content: bytes) -> RawPages:
    """The pages a file holds: A0h, A0h and A2h one after the other, or A2h alone.

    Parameters
    ----------
    content : bytes [-]
        The whole file, binary or hexadecimal text.

    Returns
    -------
    RawPages [-]
        The first 256 bytes are A0h and the next 256 A2h; a single page whose checksum is right
        only as A2h is taken as A2h, which `remarks` says.

    Raises
    ------
    DecodeError
        When the file is empty or is text that is no dump.

    Source
    ------
    Order of the pages: SFF-8472 Rev 12.2 section 3.1; layouts of dumps: common practice, no source.

    Example
    -------
    >>> pages_from_bytes(b"03 04 07").a0.hex()
    '030407'
    """
    if not content.strip():
        raise DecodeError("the file is empty", offset=0, hint="save the module's pages into it")
    remarks: list[str] = []
    is_text = all(byte in _TEXT for byte in content)
    data = read_hex_text(content.decode("ascii"), remarks) if is_text else content
    return _split(data, remarks)


def _split(data: bytes, remarks: list[str]) -> RawPages:
    if len(data) > 512:
        remarks.append(f"{len(data) - 512} bytes after the two pages were left aside")
    first, second = data[:256], data[256:512]
    if not second and _only_as_a2(first):
        remarks.append("its checksum is right only as an A2h page, so it was taken as that")
        return RawPages(a2=first, remarks=tuple(remarks))
    return RawPages(a0=first, a2=second or None, remarks=tuple(remarks))


def _only_as_a2(page: bytes) -> bool:
    if len(page) < 96:
        return False
    as_a0 = sum(page[:63]) & 0xFF == page[63]
    return not as_a0 and sum(page[:95]) & 0xFF == page[95]


def read_hex_text(text: str, remarks: list[str] | None = None) -> bytes:
    """Bytes of a hexadecimal dump: plain digits, or lines with an address and perhaps text beside.

    Parameters
    ----------
    text : str [-]
        The dump. Lines without any byte (titles, rulers) are passed over.
    remarks : list[str] | None [-]
        Sentences are added here about bytes that could not be read.

    Returns
    -------
    bytes [-]
        Up to the first byte that is marked unreadable ('XX').

    Raises
    ------
    DecodeError
        When the text holds no bytes, an odd number of digits, an address out of turn, or
        characters that are no hexadecimal digits.

    Source
    ------
    Common practice, no source: the layouts that operating systems' tools print.

    Example
    -------
    >>> read_hex_text("0x00: 03 04 07 10  ....").hex()
    '03040710'
    """
    lines = [line for line in text.splitlines() if line.strip()]
    addressed = [match for line in lines if (match := _addressed(line))]
    tokens = _from_addresses(addressed) if addressed else _plain(lines)
    if not tokens:
        raise DecodeError("the text holds no bytes", hint="a line such as '00: 03 04 07 10' is one")
    return _until_unreadable(tokens, remarks if remarks is not None else [])


def _addressed(line: str) -> re.Match[str] | None:
    return _ADDRESS.match(line) or _BARE_ADDRESS.match(line)


def _from_addresses(lines: list[re.Match[str]]) -> list[str]:
    """The address of the next line says how many bytes this one has; text beside it is no byte."""
    starts = [int(match[1], 16) for match in lines]
    width = starts[1] - starts[0] if len(starts) > 1 and starts[1] > starts[0] else 16
    tokens: list[str] = []
    for index, match in enumerate(lines):
        row = _row(match[2], width)
        follows = starts[index + 1] if index + 1 < len(starts) else None
        _check_turn(starts[index], len(row), follows)
        tokens += row
    return tokens


def _check_turn(start: int, count: int, follows: int | None) -> None:
    """A dump may start again at 0 (the second page); anything else must follow on."""
    if follows is None or follows in (0, start + count):
        return
    raise DecodeError(
        f"the line at {start:02x} has {count} bytes and the next one starts at {follows:02x}",
        offset=start,
        hint="lines are missing, out of order or damaged: save the dump again",
    )


def _row(rest: str, width: int) -> list[str]:
    rest = rest.split("|")[0]
    tokens: list[str] = []
    at = 0
    while len(tokens) < width and (match := _BYTE.match(rest, at)):
        gap = match.start(1) - at
        if gap > 1 and tokens and len(tokens) != width // 2:
            break  # two blanks set off the text beside, but for the gap in the middle
        tokens.append(match[1].upper())
        at = match.end()
    return tokens


def _plain(lines: list[str]) -> list[str]:
    """Digits only, with blanks, commas, 0x or none between; lines of words before them are passed.

    A ruler of column numbers has no address either, but then the lines below it have.
    """
    packed = re.sub(r"0[xX]|[\s,;:\-]", "", "".join(lines))
    wrong = re.search(r"[^0-9A-Fa-fX]", packed)
    if wrong:
        raise DecodeError(
            f"{wrong[0]!r} is no hexadecimal digit",
            offset=wrong.start() // 2,
            hint="give the pages as binary or as hexadecimal text such as '03 04 07 10'",
        )
    if len(packed) % 2:
        raise DecodeError(
            f"there are {len(packed)} hexadecimal digits, which is no whole number of bytes",
            offset=len(packed) // 2,
            hint="a digit is missing: save the dump again",
        )
    return [packed[i : i + 2].upper() for i in range(0, len(packed), 2)]


def _until_unreadable(tokens: list[str], remarks: list[str]) -> bytes:
    unreadable = [i for i, token in enumerate(tokens) if "X" in token]
    if unreadable:
        remarks.append(
            f"byte {unreadable[0]} is marked as unreadable: it and all after it are left out"
        )
        tokens = tokens[: unreadable[0]]
    if not tokens:
        raise DecodeError("no byte could be read", offset=0, hint="no module answered")
    return bytes.fromhex("".join(tokens))
