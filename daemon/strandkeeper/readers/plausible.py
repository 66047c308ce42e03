"""Whether a reading can be that of a module: for a person who looks at an unknown switch. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strandkeeper.model.power import Measured, NoLight
from strandkeeper.model.reading import OperStatus, OpticalReading

__all__ = ["doubts"]

# What pluggable modules show in use; common practice, no source.
_RANGES: Final = (
    ("temp_c", "temperature", "°C", -25.0, 95.0),
    ("vcc_v", "supply", "V", 2.9, 3.7),
    ("bias_ma", "bias", "mA", 0.0, 150.0),
)
_RX_DBM: Final = (-40.0, 8.2)
_TX_DBM: Final = (-20.0, 8.2)


def doubts(reading: OpticalReading, oper: OperStatus | None) -> tuple[str, ...]:
    """Why a reading cannot be taken as it is, as sentences; empty: nothing speaks against it.

    Source: ranges: common practice, no source.
    """
    return tuple(_doubts(reading, oper))


def _doubts(reading: OpticalReading, oper: OperStatus | None) -> Iterator[str]:
    if reading == OpticalReading():
        yield "no figure came: no module, or one that does not measure"
        return
    for name, words, unit, low, high in _RANGES:
        value = getattr(reading, name)
        if value is not None and not low <= value <= high:
            yield f"{words} of {value:g} {unit} is not that of a module: is the unit right?"
    for power, words, (low, high) in (
        (reading.rx, "received", _RX_DBM),
        (reading.tx, "sent", _TX_DBM),
    ):
        if isinstance(power, Measured) and not low <= power.power.value <= high:
            yield f"{words} light of {power.power.value:.1f} dBm is not that of a module"
    if oper is OperStatus.UP and isinstance(reading.rx, NoLight):
        yield "the port is up, but shows no received light: is this the reading of this port?"
