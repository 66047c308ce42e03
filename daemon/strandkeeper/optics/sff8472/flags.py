"""Status and flag bits of the A2h page: set, clear, or not implemented."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from strandkeeper.optics.sff8472.memory_map import FLAGS
from strandkeeper.optics.sff8472.words import DiagnosticType, Flag

__all__ = ["Status", "decode_flags", "decode_status"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """A2h byte 110. State bits of options that are not implemented read 0, which means nothing."""

    tx_disabled_by_pin: Flag
    tx_disabled_by_software: Flag
    tx_fault: Flag
    rx_los: Flag
    not_ready: Flag


def decode_status(page: bytes, kind: DiagnosticType | None) -> Status | None:
    """State bits, told apart from bits that the module does not keep.

    Parameters
    ----------
    page : bytes [-]
        The A2h page.
    kind : DiagnosticType | None [-]
        What the A0h page says; None: a bit that reads 0 is then UNKNOWN.

    Returns
    -------
    Status | None [-]
        None when the page ends before byte 110.

    Notes
    -----
    The bits may lag their pins by 100 ms. Bit 0 is inverted: 0 is ready. Loss of signal may stay
    silent 10 dB below sensitivity: no loss of signal does not mean enough light.

    Source
    ------
    SFF-8472 Rev 12.2, Table 9-11; section 3.1: 'state bits' of an option not implemented read 0;
    Table 8-6 for the option bits.

    Example
    -------
    >>> decode_status(bytes(256), None).rx_los
    <Flag.UNKNOWN: 'unknown'>
    """
    if len(page) <= 110:
        return None
    byte = page[110]
    disable, fault, los, ready = _kept(kind)
    return Status(
        tx_disabled_by_pin=_flag(byte, 7, disable),
        tx_disabled_by_software=_flag(byte, 6, disable),
        tx_fault=_flag(byte, 2, fault),
        rx_los=_flag(byte, 1, los),
        not_ready=_flag(byte, 0, ready),
    )


def _kept(kind: DiagnosticType | None) -> tuple[bool | None, bool | None, bool | None, bool | None]:
    """Which state bits the module keeps, by A0h 93.6, 93.5, 93.4 and 92.6."""
    if kind is None:
        return None, None, None, None
    return kind.soft_tx_disable, kind.soft_tx_fault, kind.soft_rx_los, kind.implemented


def _flag(byte: int, bit: int, implemented: bool | None) -> Flag:
    is_set = bool(byte >> bit & 1)
    if implemented is None:
        return Flag.SET if is_set else Flag.UNKNOWN
    if not implemented:
        return Flag.NOT_IMPLEMENTED
    return Flag.SET if is_set else Flag.CLEAR


def decode_flags(
    page: bytes, kind: DiagnosticType | None
) -> tuple[Mapping[tuple[str, str], Flag], Mapping[tuple[str, str], Flag]]:
    """Alarm and warning flags by (quantity, 'high' or 'low').

    Parameters
    ----------
    page : bytes [-]
        The A2h page.
    kind : DiagnosticType | None [-]
        What the A0h page says; None: a flag that reads 0 is then UNKNOWN.

    Returns
    -------
    tuple[Mapping, Mapping] [-]
        Alarms and warnings; empty when the page ends before them.

    Notes
    -----
    A flag may be latched or not, as the maker chose, and its thresholds may be adjusted for
    temperature: it need not agree with the reading. Laser temperature and cooler current have
    flags since Rev 11.4, in modules with a cooled laser.

    Source
    ------
    SFF-8472 Rev 12.2, section 9.8, Table 9-12; A0h 93.7 (Table 8-6): 'all monitored quantities'.

    Example
    -------
    >>> decode_flags(bytes(100), None)
    ({}, {})
    """
    if len(page) < 118:
        return {}, {}
    return _flags(page, 112, kind), _flags(page, 116, kind)


def _flags(page: bytes, first: int, kind: DiagnosticType | None) -> dict[tuple[str, str], Flag]:
    always = None if kind is None else kind.implemented and kind.alarm_flags
    cooled = None if kind is None else bool(always) and kind.cooled_laser and kind.revision_code > 6
    return {
        (quantity, side): _flag(
            page[first + byte], bit, cooled if byte == 1 and bit < 6 else always
        )
        for byte, bit, quantity, side in FLAGS
    }
