"""The enums that both pages share: calibration, kind of receive power, state of a bit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Calibration", "DiagnosticType", "Flag", "PowerKind"]


class Calibration(StrEnum):
    """Who turns counts into units (A0h 92.5 and 92.4)."""

    INTERNAL = "internal"
    EXTERNAL = "external"
    UNSTATED = "unstated"  # both bits or neither: the specification does not say what that means


class PowerKind(StrEnum):
    """What the receive power figure is (A0h 92.3)."""

    AVERAGE = "average"
    OMA = "OMA"


class Flag(StrEnum):
    """State of a status or flag bit; 'clear' only where the module says that it keeps the bit."""

    SET = "set"
    CLEAR = "clear"
    NOT_IMPLEMENTED = "not implemented"
    UNKNOWN = "unknown"  # whether it is implemented stands in the other page, which is not there


@dataclass(frozen=True, slots=True, kw_only=True)
class DiagnosticType:
    """What A0h bytes 92 to 94 say of the A2h page."""

    implemented: bool
    calibration: Calibration
    power_kind: PowerKind
    address_change: bool
    alarm_flags: bool
    soft_tx_disable: bool
    soft_tx_fault: bool
    soft_rx_los: bool
    soft_rate_select: bool
    revision_code: int
    cooled_laser: bool = False
