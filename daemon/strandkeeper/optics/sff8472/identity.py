"""The serial ID page (A0h): who made the module and what it is."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from strandkeeper.errors import DecodeError
from strandkeeper.optics.sff8472.memory_map import (
    COMPLIANCE,
    CONNECTORS,
    ENCODINGS,
    EXTENDED_COMPLIANCE,
    IDENTIFIERS,
    LENGTHS,
    OPTIONS,
    REVISIONS,
)
from strandkeeper.optics.sff8472.words import Calibration, DiagnosticType, PowerKind

__all__ = ["Identity", "Length", "checksum_problem", "decode_identity"]

# byte 94 of the revision that gave a length byte its meaning: OM4 with 11.3, OM3 with 10
_LENGTH_SINCE: Final = {18: 0x06, 19: 0x03}


@dataclass(frozen=True, slots=True)
class Length:
    """How far the maker says it reaches; `or_more`: the count was at its end."""

    metres: int
    or_more: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """A0h in units. None: the page ends before it, or the module leaves it open.

    `lengths` is by fibre ('single-mode', 'OM1' ... 'OM4', 'copper'). `compliance` are the set bits
    by name. `problems` are sentences: what is wrong with the page and what that puts in doubt.
    """

    identifier: str | None
    connector: str | None
    compliance: tuple[str, ...]
    encoding: str | None
    rate_mbd: float | None
    lengths: Mapping[str, Length]
    vendor: str | None
    oui: str | None
    part: str | None
    revision: str | None
    serial: str | None
    made: str | None
    lot: str | None
    wavelength_nm: int | None
    options: tuple[str, ...]
    diagnostics: DiagnosticType | None
    sff_revision: str | None
    sound: bool
    problems: tuple[str, ...]

    @property
    def cable_assembly(self) -> bool:
        """Whether this is a cable with fixed ends, which has no optics to judge (section 8.1)."""
        return "passive cable" in self.compliance or "active cable" in self.compliance


def decode_identity(page: bytes) -> Identity:
    """Decode the serial ID page; what a short or damaged page still says is kept.

    Parameters
    ----------
    page : bytes [-, shape (1 to 256,)]
        From byte 0 of address A0h; bytes beyond 256 are an error of the caller.

    Returns
    -------
    Identity [m, nm, MBd]
        With `problems` for everything that is wrong with the page.

    Raises
    ------
    DecodeError
        When the page is empty, longer than 256 bytes, or nothing but 00h or FFh.

    Notes
    -----
    Makers' texts are shown with '?' for bytes that are no printable ASCII.

    Source
    ------
    SFF-8472 Rev 12.2, Tables 4-1, 5-1 to 5-4, 8-3 to 8-8, sections 6, 7 and 8; byte 36 by SFF-8024.

    Example
    -------
    >>> decode_identity(bytes([3, 4, 7])).connector
    'LC'
    """
    _refuse_hopeless(page)
    problems: list[str] = []
    if page[0] > 0x03:
        problems.append(
            f"byte 0 says form {page[0]:02X}h, which is no SFP: its pages may follow another map, "
            "and what is read here may mean nothing"
        )
    if len(page) < 96:
        problems.append(f"the page ends after {len(page)} bytes: what lies beyond is not known")
    base = checksum_problem(page, 0, 62, 63, "A0h", "the module's kind, reach and maker")
    ext = checksum_problem(page, 64, 94, 95, "A0h", "serial number, date and diagnostics type")
    problems += [p for p in (base, ext) if p]
    compliance = _compliance(page)
    made, lot = _date(page, problems)
    return Identity(
        identifier=_code(page, 0, IDENTIFIERS),
        connector=_code(page, 2, CONNECTORS),
        compliance=compliance,
        encoding=_code(page, 11, ENCODINGS),
        rate_mbd=_rate(page),
        lengths=_lengths(page, compliance),
        vendor=_text(page, 20, 16, "maker's name", problems),
        oui=_oui(page),
        part=_text(page, 40, 16, "part number", problems),
        revision=_text(page, 56, 4, "maker's revision", problems),
        serial=_text(page, 68, 16, "serial number", problems),
        made=made,
        lot=lot,
        wavelength_nm=_wavelength(page, compliance),
        options=tuple(w for (byte, bit), w in OPTIONS.items() if _bit(page, byte, bit)),
        diagnostics=_diagnostics(page, problems),
        sff_revision=_code(page, 94, REVISIONS),
        sound=not problems,
        problems=tuple(problems),
    )


def _refuse_hopeless(page: bytes) -> None:
    if not page:
        raise DecodeError("the A0h page is empty", offset=0, hint="read at least 96 bytes of it")
    if len(page) > 256:
        raise DecodeError(f"an A0h page has 256 bytes, not {len(page)}", offset=256)
    if len(page) > 1 and len(set(page)) == 1 and page[0] in (0x00, 0xFF):
        raise DecodeError(
            f"the A0h page holds nothing but {page[0]:02X}h",
            offset=0,
            hint="no module answered: is one seated, and was the right port read?",
        )


def checksum_problem(
    page: bytes, first: int, last: int, at: int, name: str, doubt: str
) -> str | None:
    """What is wrong with a checksum, None if it is right or not there.

    Parameters
    ----------
    page : bytes [-]
        The page.
    first, last, at : int [byte offset, 0 to 255]
        Sum of the bytes first to last, both counted, against the byte at.
    name, doubt : str [-]
        The page's name, and what is doubtful if the sum is wrong.

    Returns
    -------
    str | None [-]
        A sentence.

    Notes
    -----
    Sections 8.2 and 9.6 speak of 'the first 64' and 'the first 94' bytes where their own ranges
    have 63 and 95; the ranges are right.

    Source
    ------
    SFF-8472 Rev 12.2, sections 8.2, 8.12 and 9.6: the low eight bits of the sum.

    Example
    -------
    >>> checksum_problem(bytes([1, 2, 3]), 0, 1, 2, "A0h", "nothing")
    """
    if len(page) <= at:
        return None
    total = sum(page[first : last + 1]) & 0xFF
    if total == page[at]:
        return None
    return (
        f"checksum of {name} bytes {first} to {last} is wrong: byte {at} says {page[at]:02X}h, "
        f"they add up to {total:02X}h; {doubt} may be garbled"
    )


def _states_older(page: bytes, code: int) -> bool:
    """Whether byte 94 names a revision older than that code; 00h names none."""
    return len(page) > 94 and 0 < page[94] < code


def _bit(page: bytes, byte: int, bit: int) -> bool:
    return byte < len(page) and bool(page[byte] >> bit & 1)


def _code(page: bytes, byte: int, names: Mapping[int, str]) -> str | None:
    if byte >= len(page):
        return None
    return names.get(page[byte], f"code {page[byte]:02X}h")


def _compliance(page: bytes) -> tuple[str, ...]:
    named = [name for (byte, bit), name in COMPLIANCE.items() if _bit(page, byte, bit)]
    if len(page) > 36 and page[36] in EXTENDED_COMPLIANCE and not _states_older(page, 0x08):
        named.append(EXTENDED_COMPLIANCE[page[36]])
    return tuple(named)


def _rate(page: bytes) -> float | None:
    """Byte 12 in 100 MBd; FFh means byte 66 in 250 MBd (sections 5.7 and 8.4)."""
    if len(page) <= 12 or page[12] == 0:
        return None
    if page[12] != 0xFF:
        return page[12] * 100.0
    return page[66] * 250.0 if len(page) > 66 and page[66] else None


def _lengths(page: bytes, compliance: tuple[str, ...]) -> dict[str, Length]:
    copper = "passive cable" in compliance or "active cable" in compliance
    found: dict[str, Length] = {}
    for byte, metres, fibre in LENGTHS:
        count = page[byte] if byte < len(page) else 0
        if not count or (not copper and _states_older(page, _LENGTH_SINCE.get(byte, 0))):
            continue
        if byte == 18 and copper:
            found["copper"] = Length(count, count == 255)
        else:
            found[fibre] = _finer(found.get(fibre), count, metres)
    return found


def _finer(known: Length | None, count: int, metres: int) -> Length:
    """Bytes 14 and 15 both speak of single-mode; 255 says only 'more than 254 counts'."""
    length = Length(254 * metres, or_more=True) if count == 255 else Length(count * metres)
    if known is None or not length.or_more:
        return length
    return known


def _text(page: bytes, first: int, size: int, what: str, problems: list[str]) -> str | None:
    raw = page[first : first + size]
    if not raw or not raw.strip(b"\0"):
        return None
    if len(raw) < size:
        problems.append(f"the {what} is cut off")
    text = raw.decode("ascii", errors="replace").rstrip(" \0")
    shown = "".join(c if " " <= c <= "~" else "?" for c in text)
    if "?" in shown and shown != text:
        problems.append(f"the {what} holds bytes that are no text, shown as '?'")
    return shown or None


def _oui(page: bytes) -> str | None:
    raw = page[37:40]
    return raw.hex("-").upper() if len(raw) == 3 and any(raw) else None


def _date(page: bytes, problems: list[str]) -> tuple[str | None, str | None]:
    """Bytes 84 to 91: YYMMDD and a lot code of the maker (Table 8-4)."""
    raw = page[84:92]
    if len(raw) < 8 or not raw.strip(b" \0"):
        return None, None
    digits = raw[:6].decode("ascii", errors="replace")
    lot = "".join(c if " " <= c <= "~" else "?" for c in raw[6:].decode("ascii", "replace"))
    day = _day(digits)
    if day is None:
        problems.append("the date code is no date")
        return None, lot.strip() or None
    return day.isoformat(), lot.strip() or None


def _day(digits: str) -> datetime.date | None:
    if not (digits.isascii() and digits.isdigit()):
        return None
    try:
        return datetime.date(2000 + int(digits[:2]), int(digits[2:4]), int(digits[4:]))
    except ValueError:
        return None


def _wavelength(page: bytes, compliance: tuple[str, ...]) -> int | None:
    """Bytes 60 and 61 are a wavelength only when this is no cable assembly (section 8.1)."""
    if len(page) < 62 or "passive cable" in compliance or "active cable" in compliance:
        return None
    return int.from_bytes(page[60:62], "big") or None


def _diagnostics(page: bytes, problems: list[str]) -> DiagnosticType | None:
    if len(page) < 95:
        return None
    kind, more = page[92], page[93]
    if kind & 0x80:
        problems.append("byte 92 bit 7 is set, which is reserved: the diagnostics type is doubtful")
    return DiagnosticType(
        implemented=bool(kind & 0x40),
        calibration=_calibration(kind),
        power_kind=PowerKind.AVERAGE if kind & 0x08 else PowerKind.OMA,
        address_change=bool(kind & 0x04),
        alarm_flags=bool(more & 0x80),
        soft_tx_disable=bool(more & 0x40),
        soft_tx_fault=bool(more & 0x20),
        soft_rx_los=bool(more & 0x10),
        soft_rate_select=bool(more & 0x08),
        revision_code=page[94],
        cooled_laser=_bit(page, 64, 2),
    )


def _calibration(kind: int) -> Calibration:
    internal, external = bool(kind & 0x20), bool(kind & 0x10)
    if internal == external:
        return Calibration.UNSTATED
    return Calibration.INTERNAL if internal else Calibration.EXTERNAL
