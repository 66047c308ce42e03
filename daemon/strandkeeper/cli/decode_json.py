"""A decoded module for a script: schema 1. Keys stay; new ones may come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from strandkeeper.optics.receiver import receiver_limits
from strandkeeper.optics.recognise import from_module
from strandkeeper.optics.sff8472.diagnostics import Diagnostics, Limits
from strandkeeper.optics.sff8472.flags import Status
from strandkeeper.optics.sff8472.identity import Identity
from strandkeeper.optics.sff8472.module import Module
from strandkeeper.optics.sff8472.words import DiagnosticType, Flag
from strandkeeper.optics.units import Dbm, Microwatt

__all__ = ["module_json"]

Json = dict[str, Any]


def module_json(module: Module, remarks: Iterable[str] = ()) -> Json:
    """Powers in dBm: a number, "no-light", or null for not known."""
    return {
        "schema": 1,
        "identity": _identity(module.identity) if module.identity else None,
        "recognised": _recognised(module.identity) if module.identity else None,
        "diagnostics": _diagnostics(module.diagnostics) if module.diagnostics else None,
        "no_diagnostics": module.no_diagnostics or None,
        "problems": list(module.problems),
        "remarks": list(remarks),
    }


def _identity(identity: Identity) -> Json:
    return {
        "identifier": identity.identifier,
        "connector": identity.connector,
        "compliance": list(identity.compliance),
        "encoding": identity.encoding,
        "rate_mbd": identity.rate_mbd,
        "lengths": {
            fibre: {"metres": length.metres, "or_more": length.or_more}
            for fibre, length in identity.lengths.items()
        },
        "vendor": identity.vendor,
        "oui": identity.oui,
        "part": identity.part,
        "revision": identity.revision,
        "serial": identity.serial,
        "made": identity.made,
        "lot": identity.lot,
        "wavelength_nm": identity.wavelength_nm,
        "options": list(identity.options),
        "sff_revision": identity.sff_revision,
        "sound": identity.sound,
        "diagnostics_type": _kind(identity.diagnostics) if identity.diagnostics else None,
    }


def _kind(kind: DiagnosticType) -> Json:
    return {
        "implemented": kind.implemented,
        "calibration": kind.calibration.value,
        "receive_power": kind.power_kind.value,
        "address_change": kind.address_change,
        "alarm_flags": kind.alarm_flags,
        "soft_tx_disable": kind.soft_tx_disable,
        "soft_tx_fault": kind.soft_tx_fault,
        "soft_rx_los": kind.soft_rx_los,
        "soft_rate_select": kind.soft_rate_select,
    }


def _recognised(identity: Identity) -> Json:
    found = from_module(identity)
    limits = receiver_limits(found.spec) if found.spec else None
    return {
        "pmd": found.spec.name if found.spec else None,
        "sure": found.sure.value,
        "why": found.why,
        "sensitivity_dbm": _dbm(limits.sensitivity) if limits else None,
        "overload_dbm": _dbm(limits.overload) if limits else None,
        "source": limits.source if limits else None,
    }


def _diagnostics(page: Diagnostics) -> Json:
    return {
        "temp_c": page.temp_c,
        "vcc_v": _rounded(page.vcc_v),
        "bias_ma": _rounded(page.bias_ma),
        "tx_dbm": _power(page.tx),
        "rx_dbm": _power(page.rx),
        "tx_uw": _rounded(page.tx.value) if page.tx else None,
        "rx_uw": _rounded(page.rx.value) if page.rx else None,
        "receive_power": page.power_kind.value if page.power_kind else None,
        "laser_temp_c": page.laser_temp_c,
        "cooler_ma": _rounded(page.cooler_ma),
        "calibration": page.calibration.value,
        "limits": {
            "temp_c": _limits(page.temp_limits),
            "vcc_v": _limits(page.vcc_limits),
            "bias_ma": _limits(page.bias_limits),
            "tx_dbm": _power_limits(page.tx_limits),
            "rx_dbm": _power_limits(page.rx_limits),
        },
        "status": _status(page.status) if page.status else None,
        "alarms": _flags(page.alarms),
        "warnings": _flags(page.warnings),
        "saturated": list(page.saturated),
        "sound": page.sound,
    }


def _limits(limits: Limits[float] | None) -> Json | None:
    if limits is None:
        return None
    return {
        "low_alarm": _rounded(limits.low_alarm),
        "low_warning": _rounded(limits.low_warning),
        "high_warning": _rounded(limits.high_warning),
        "high_alarm": _rounded(limits.high_alarm),
    }


def _power_limits(limits: Limits[Microwatt] | None) -> Json | None:
    if limits is None:
        return None
    return {
        "low_alarm": _power(limits.low_alarm),
        "low_warning": _power(limits.low_warning),
        "high_warning": _power(limits.high_warning),
        "high_alarm": _power(limits.high_alarm),
    }


def _status(status: Status) -> Json:
    return {
        "tx_disabled_by_pin": status.tx_disabled_by_pin.value,
        "tx_disabled_by_software": status.tx_disabled_by_software.value,
        "tx_fault": status.tx_fault.value,
        "rx_los": status.rx_los.value,
        "not_ready": status.not_ready.value,
    }


def _flags(flags: Mapping[tuple[str, str], Flag]) -> Json:
    return {f"{quantity} {side}": flag.value for (quantity, side), flag in flags.items()}


def _power(power: Microwatt | None) -> float | str | None:
    if power is None:
        return None
    return _dbm(power.to_milliwatt().to_dbm()) if power.value else "no-light"


def _dbm(power: Dbm | None) -> float | None:
    return None if power is None else round(power.value, 4) + 0.0


def _rounded(value: float | None) -> float | None:
    """A count times its LSB, without the float's tail."""
    return None if value is None else round(value, 6) + 0.0
