"""The diagnostics page (A2h): thresholds, readings, status and flags in units and words."""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from strandkeeper.errors import DecodeError
from strandkeeper.optics.sff8472.calibration import Constants, constants_from, rx_counts
from strandkeeper.optics.sff8472.flags import Status, decode_flags, decode_status
from strandkeeper.optics.sff8472.identity import checksum_problem
from strandkeeper.optics.sff8472.memory_map import QUANTITIES
from strandkeeper.optics.sff8472.words import Calibration, DiagnosticType, Flag, PowerKind
from strandkeeper.optics.units import Microwatt

__all__ = ["Diagnostics", "Limits", "decode_diagnostics"]

T = TypeVar("T")

_THRESHOLDS: Final = struct.Struct(">4h16H")
_READINGS: Final = struct.Struct(">h4H")
_FULL_SCALE: Final = 0xFFFF


@dataclass(frozen=True, slots=True)
class Limits(Generic[T]):
    """The maker's warning levels of one quantity; never its sensitivity."""

    high_alarm: T
    low_alarm: T
    high_warning: T
    low_warning: T


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnostics:
    """A2h in units. None: not there, not valid, or the page ends before it.

    Powers are Microwatt: 0 is 'less than 0.1 µW or less than it can measure', for which dBm has no
    number. `power_kind` says whether receive power is average or OMA. `saturated` names quantities
    at the end of their scale: those are no measurements. `sound`: whole, with a right checksum;
    the readings themselves are under no checksum.
    """

    temp_c: float | None
    vcc_v: float | None
    bias_ma: float | None
    tx: Microwatt | None
    rx: Microwatt | None
    power_kind: PowerKind | None
    calibration: Calibration
    constants: Constants | None
    temp_limits: Limits[float] | None
    vcc_limits: Limits[float] | None
    bias_limits: Limits[float] | None
    tx_limits: Limits[Microwatt] | None
    rx_limits: Limits[Microwatt] | None
    laser_temp_c: float | None
    cooler_ma: float | None
    status: Status | None
    alarms: Mapping[tuple[str, str], Flag]
    warnings: Mapping[tuple[str, str], Flag]
    saturated: tuple[str, ...]
    sound: bool
    problems: tuple[str, ...]


def decode_diagnostics(page: bytes, kind: DiagnosticType | None = None) -> Diagnostics:
    """Decode the diagnostics page; what a short or damaged page still says is kept.

    Parameters
    ----------
    page : bytes [-, shape (1 to 256,)]
        From byte 0 of address A2h.
    kind : DiagnosticType | None [-]
        What the A0h page says of this one. None: that page is not there; internal calibration is
        then assumed, which is said in `problems`, and no flag counts as clear.

    Returns
    -------
    Diagnostics [°C, V, mA, µW]
        With `problems` for everything that is wrong with the page.

    Raises
    ------
    DecodeError
        When the page is empty, longer than 256 bytes, nothing but 00h or FFh, or the A0h page says
        that there are no diagnostics.

    Notes
    -----
    Accuracy demanded of a module: temperature ±3 °C, supply ±3 %, bias ±10 %, powers ±3 dB. The
    thresholds of an externally calibrated module are counts too and are calibrated here.

    Source
    ------
    SFF-8472 Rev 12.2, sections 9.2 to 9.8, Tables 9-5, 9-6, 9-11, 9-12.

    Example
    -------
    >>> decode_diagnostics(bytes(96) + bytes([25, 0]) + bytes(158)).temp_c
    25.0
    """
    _refuse_hopeless(page, kind)
    problems = _page_problems(page)
    sound = not problems
    calibration, constants = _choose_constants(page, kind, problems)
    counts = _Counts(constants, problems)
    limits = _limits(page, counts) if calibration is not None else None
    live, saturated = _readings(page, counts, problems) if calibration is not None else ((), ())
    extra = _cooled(page, kind)
    status = decode_status(page, kind)
    _status_problems(status, problems)
    alarms, warnings = decode_flags(page, kind)
    return Diagnostics(
        temp_c=live[0] if live else None,
        vcc_v=live[1] if live else None,
        bias_ma=live[2] if live else None,
        tx=_power(live[3]) if live else None,
        rx=_power(live[4]) if live else None,
        power_kind=kind.power_kind if kind else None,
        calibration=calibration or Calibration.EXTERNAL,
        constants=constants,
        temp_limits=_plain(limits, 0),
        vcc_limits=_plain(limits, 1),
        bias_limits=_plain(limits, 2),
        tx_limits=_powers(limits, 3),
        rx_limits=_powers(limits, 4),
        laser_temp_c=extra[0],
        cooler_ma=extra[1],
        status=status,
        alarms=alarms,
        warnings=warnings,
        saturated=saturated,
        sound=sound,
        problems=tuple(problems),
    )


class _Counts:
    """Turns counts of one page into units, remembering what could not be turned."""

    def __init__(self, constants: Constants | None, problems: list[str]) -> None:
        self._constants = constants
        self._problems = problems

    def in_units(self, index: int, raw: int) -> float | None:
        """The figure of QUANTITIES[index]; None when calibration gives no number."""
        name, _, lsb, _ = QUANTITIES[index]
        if self._constants is None:
            return raw * lsb
        if index == 4:
            counts = rx_counts(raw, self._constants)
        else:
            slope, offset = self._constants.linear[index]
            counts = slope * raw + offset
        if math.isfinite(counts):
            return counts * lsb
        problem = f"calibration of {name} gives no number: its constants are invalid"
        if problem not in self._problems:
            self._problems.append(problem)
        return None


def _refuse_hopeless(page: bytes, kind: DiagnosticType | None) -> None:
    if not page:
        raise DecodeError("the A2h page is empty", offset=0, hint="read at least 120 bytes of it")
    if len(page) > 256:
        raise DecodeError(f"an A2h page has 256 bytes, not {len(page)}", offset=256)
    if len(page) > 1 and len(set(page)) == 1 and page[0] in (0x00, 0xFF):
        raise DecodeError(
            f"the A2h page holds nothing but {page[0]:02X}h",
            offset=0,
            hint="the module did not answer at A2h: it has no diagnostics, or they were not read",
        )
    if kind is not None and not kind.implemented:
        raise DecodeError(
            "the module says that it has no diagnostics (A0h byte 92 bit 6 is 0)",
            offset=0,
            hint="the bytes at A2h mean nothing then; light levels need a module with diagnostics",
        )


def _page_problems(page: bytes) -> list[str]:
    doubt = "thresholds and calibration"
    found = [checksum_problem(page, 0, 94, 95, "A2h", doubt)]
    if len(page) < 118:
        found.append(f"the page ends after {len(page)} bytes: what lies beyond is not known")
    return [problem for problem in found if problem]


def _choose_constants(
    page: bytes, kind: DiagnosticType | None, problems: list[str]
) -> tuple[Calibration | None, Constants | None]:
    """How to turn counts into units; (None, None) when that cannot be known."""
    if kind is None:
        problems.append(
            "without the A0h page it is not known how the module is calibrated nor whether receive "
            "power is average or OMA: internal calibration is assumed"
        )
        return Calibration.INTERNAL, None
    if kind.calibration is Calibration.INTERNAL:
        return Calibration.INTERNAL, None
    if len(page) < 92:
        problems.append("the calibration constants are cut off: no figure can be given in units")
        return None, None
    constants = constants_from(page)
    if kind.calibration is Calibration.EXTERNAL:
        return Calibration.EXTERNAL, constants
    return _unstated(constants, problems)


def _unstated(constants: Constants, problems: list[str]) -> tuple[Calibration, Constants | None]:
    """Both bits or neither; an internal part carries slope 1 and offset 0: no harm to use them."""
    text = "the module does not say whether it is calibrated internally or externally"
    if constants.usable and not constants.changes_nothing:
        problems.append(f"{text}: its constants are plausible and were applied")
        return Calibration.UNSTATED, constants
    problems.append(f"{text}: its figures were taken as they are")
    return Calibration.UNSTATED, None


def _limits(page: bytes, counts: _Counts) -> list[Limits[float] | None]:
    if len(page) < 40:
        return []
    raw = _THRESHOLDS.unpack_from(page, 0)
    return [_four([counts.in_units(i, r) for r in raw[4 * i : 4 * i + 4]]) for i in range(5)]


def _four(values: list[float | None]) -> Limits[float] | None:
    known = [value for value in values if value is not None]
    return Limits(*known) if len(known) == 4 else None


def _plain(limits: list[Limits[float] | None] | None, index: int) -> Limits[float] | None:
    return limits[index] if limits else None


def _powers(limits: list[Limits[float] | None] | None, index: int) -> Limits[Microwatt] | None:
    four = _plain(limits, index)
    if four is None:
        return None
    return Limits(
        _microwatt(four.high_alarm),
        _microwatt(four.low_alarm),
        _microwatt(four.high_warning),
        _microwatt(four.low_warning),
    )


def _power(value_uw: float | None) -> Microwatt | None:
    return None if value_uw is None else _microwatt(value_uw)


def _microwatt(value_uw: float) -> Microwatt:
    """A calibrated power below 0 is less than the module can measure."""
    return Microwatt(max(value_uw, 0.0))


def _readings(
    page: bytes, counts: _Counts, problems: list[str]
) -> tuple[tuple[float | None, ...], tuple[str, ...]]:
    if len(page) < 106:
        return (), ()
    raw = _READINGS.unpack_from(page, 96)
    saturated = tuple(
        name
        for (name, _, _, signed), count in zip(QUANTITIES, raw, strict=True)
        if not signed and count == _FULL_SCALE
    )
    problems += [f"{name} is at the end of its scale: no measurement" for name in saturated]
    return tuple(counts.in_units(i, count) for i, count in enumerate(raw)), saturated


def _cooled(page: bytes, kind: DiagnosticType | None) -> tuple[float | None, float | None]:
    """Optional, internal calibration only (Table 9-11), since Rev 11.4."""
    if kind is None or not kind.cooled_laser or kind.revision_code < 7 or len(page) < 110:
        return None, None
    if kind.calibration is not Calibration.INTERNAL:
        return None, None
    temperature, current = struct.unpack_from(">hh", page, 106)
    return temperature / 256, current * 0.1


def _status_problems(status: Status | None, problems: list[str]) -> None:
    if status is None:
        return
    if status.not_ready is Flag.SET:
        problems.append("the module says that its readings are not ready yet")
    if Flag.SET in (status.tx_disabled_by_pin, status.tx_disabled_by_software):
        problems.append("the transmitter is switched off: its transmit power is not valid")
