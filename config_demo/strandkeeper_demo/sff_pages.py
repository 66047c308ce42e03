"""A module's two 256-byte maps as SFF-8472 lays them down, written for the demo and for tests.

Source: SFF-8472 Rev 12.2 (21 Nov 2014): tables 4-1, 5-1 to 5-3, 8-3, 8-5, 8-6, 8-8, 9-5, 9-6,
9-11, 9-12 and section 9.3 (calibration). This is the encoder's side of the standard alone: it
knows nothing of the decoder that it is there to test.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import dataclass

from strandkeeper.errors import InputError
from strandkeeper_demo.plant import Counts

__all__ = ["Calibration", "Identity", "Limits", "Status", "Thresholds", "encode_pages"]

INTERNAL, EXTERNAL = 0x20, 0x10  # A0h byte 92 bits 5 and 4 (table 8-5)
DDM, AVERAGE_POWER = 0x40, 0x08  # bits 6 and 3
ONE = 0x0100  # 1.0 as 8.8 fixed point (table 9-7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What the serial ID page says of a module (A0h); the defaults are a 1000BASE-LX10's."""

    connector: int = 0x07  # LC
    ten_gigabit: int = 0x00  # byte 3
    ethernet: int = 0x02  # byte 6: 1000BASE-LX, which LX10 shares
    encoding: int = 0x01  # 8B/10B
    rate_100mbd: int = 13
    length_smf_km: int = 10
    length_smf_100m: int = 100
    wavelength_nm: int = 1310
    maker: str = "INVENTED"
    part: str = "DEMO-LX10"
    revision: str = "1"
    serial: str = "TSL0001"
    date: str = "260101"
    compliance: int = 0x08  # Rev 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Alarm and warning thresholds of one quantity, in its own counts."""

    high_alarm: int
    low_alarm: int
    high_warning: int
    low_warning: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """All five quantities. The defaults are invented, of the size that such modules carry."""

    temp: Limits = Limits(
        high_alarm=90 * 256, low_alarm=-45 * 256, high_warning=85 * 256, low_warning=-40 * 256
    )
    vcc: Limits = Limits(high_alarm=36000, low_alarm=30000, high_warning=35000, low_warning=31000)
    bias: Limits = Limits(high_alarm=40000, low_alarm=500, high_warning=35000, low_warning=1000)
    tx: Limits = Limits(high_alarm=6310, low_alarm=1000, high_warning=5012, low_warning=1259)
    rx: Limits = Limits(high_alarm=6310, low_alarm=79, high_warning=5012, low_warning=112)


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """External calibration (section 9.3, table 9-6): slopes as 8.8 fixed point, offsets in counts.

    `rx` holds Rx_PWR(4) to Rx_PWR(0), the coefficient of the fourth power first, as in the map.
    """

    rx: tuple[float, float, float, float, float] = (0.0, 0.0, 0.0, 1.0, 0.0)
    bias_slope: int = ONE
    bias_offset: int = 0
    tx_slope: int = ONE
    tx_offset: int = 0
    temp_slope: int = ONE
    temp_offset: int = 0
    vcc_slope: int = ONE
    vcc_offset: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """A2h byte 110 (table 9-11)."""

    tx_disabled: bool = False
    tx_fault: bool = False
    rx_los: bool = False
    not_ready: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Raw:
    """How each quantity's calibrated counts become the converter's own."""

    temp: Callable[[int], int]
    vcc: Callable[[int], int]
    bias: Callable[[int], int]
    tx: Callable[[int], int]
    rx: Callable[[int], int]


def encode_pages(
    counts: Counts,
    *,
    identity: Identity | None = None,
    external: Calibration | None = None,
    thresholds: Thresholds | None = None,
    status: Status | None = None,
) -> tuple[bytes, bytes]:
    """Pages A0h and A2h of a module that measures `counts`.

    `counts` are the calibrated figures in the standard's units. With `external`, the page holds
    the raw converter values that this calibration turns into them (to the nearest count), and so
    do the thresholds. Raises InputError for a value that the map cannot hold.
    """
    constants = external or Calibration()
    raw = _raw_values(constants)
    return (
        _serial_page(identity or Identity(), EXTERNAL if external else INTERNAL),
        _diagnostics_page(counts, raw, constants, thresholds or Thresholds(), status or Status()),
    )


def _serial_page(identity: Identity, calibrated: int) -> bytes:
    page = bytearray(256)
    page[0:3] = (0x03, 0x04, identity.connector)
    page[3], page[6] = identity.ten_gigabit, identity.ethernet
    page[11], page[12] = identity.encoding, identity.rate_100mbd
    page[14], page[15] = identity.length_smf_km, identity.length_smf_100m
    page[20:36] = _text(identity.maker, 16)
    page[40:56] = _text(identity.part, 16)
    page[56:60] = _text(identity.revision, 4)
    page[60:62] = _word(identity.wavelength_nm)
    page[63] = sum(page[0:63]) & 0xFF  # CC_BASE, section 8.2
    page[65] = 0x1A  # TX_DISABLE, TX_FAULT and LOS pins (table 8-3)
    page[68:84] = _text(identity.serial, 16)
    page[84:92] = _text(identity.date, 8)
    page[92] = DDM | calibrated | AVERAGE_POWER
    page[93] = 0xB0  # flags, soft TX_FAULT, soft RX_LOS (table 8-6)
    page[94] = identity.compliance
    page[95] = sum(page[64:95]) & 0xFF  # CC_EXT, section 8.12
    return bytes(page)


def _diagnostics_page(
    counts: Counts, raw: _Raw, constants: Calibration, thresholds: Thresholds, status: Status
) -> bytes:
    page = bytearray(256)
    quantities = _quantities(raw)
    for place, (name, convert, word) in enumerate(quantities):
        limits: Limits = getattr(thresholds, name)
        values = (limits.high_alarm, limits.low_alarm, limits.high_warning, limits.low_warning)
        page[8 * place : 8 * place + 8] = b"".join(word(convert(value)) for value in values)
    page[56:76] = struct.pack(">5f", *constants.rx)
    page[76:92] = b"".join(
        [
            _word(constants.bias_slope) + _signed(constants.bias_offset),
            _word(constants.tx_slope) + _signed(constants.tx_offset),
            _word(constants.temp_slope) + _signed(constants.temp_offset),
            _word(constants.vcc_slope) + _signed(constants.vcc_offset),
        ]
    )
    page[95] = sum(page[0:95]) & 0xFF  # CC_DMI, section 9.6
    for place, (name, convert, word) in enumerate(quantities):
        page[96 + 2 * place : 98 + 2 * place] = word(convert(getattr(counts, name)))
    page[110] = (
        status.tx_disabled << 7 | status.tx_fault << 2 | status.rx_los << 1 | status.not_ready
    )
    page[112:114] = _flags(counts, thresholds, "alarm")
    page[116:118] = _flags(counts, thresholds, "warning")
    return bytes(page)


def _quantities(raw: _Raw) -> tuple[tuple[str, Callable[[int], int], Callable[[int], bytes]], ...]:
    """The order of tables 9-5 and 9-11; the temperature alone is signed."""
    return (
        ("temp", raw.temp, _signed),
        ("vcc", raw.vcc, _word),
        ("bias", raw.bias, _word),
        ("tx", raw.tx, _word),
        ("rx", raw.rx, _word),
    )


def _flags(counts: Counts, thresholds: Thresholds, level: str) -> bytes:
    """Table 9-12: high then low, quantity by quantity, from bit 7 downwards."""
    bits = 0
    for name in ("temp", "vcc", "bias", "tx", "rx"):
        value, limits = getattr(counts, name), getattr(thresholds, name)
        high = value > getattr(limits, f"high_{level}")
        low = value < getattr(limits, f"low_{level}")
        bits = bits << 2 | high << 1 | low
    return (bits << 6).to_bytes(2)


def _raw_values(constants: Calibration) -> _Raw:
    return _Raw(
        temp=_straight(constants.temp_slope, constants.temp_offset),
        vcc=_straight(constants.vcc_slope, constants.vcc_offset),
        bias=_straight(constants.bias_slope, constants.bias_offset),
        tx=_straight(constants.tx_slope, constants.tx_offset),
        rx=lambda counts: _polynomial_inverse(constants.rx, counts),
    )


def _straight(slope: int, offset: int) -> Callable[[int], int]:
    """Undo `counts = slope/256 · AD + offset` (section 9.3)."""
    return lambda counts: round((counts - offset) * 256 / slope)


def _polynomial_inverse(coefficients: tuple[float, ...], counts: int) -> int:
    """The converter value whose polynomial comes nearest to `counts`, by halving.

    The map holds single precision, so the polynomial is taken from what it will hold.
    """
    held = struct.unpack(">5f", struct.pack(">5f", *coefficients))

    def calibrated(value: int) -> float:
        result = 0.0
        for coefficient in held:
            result = result * value + coefficient
        return float(result)

    low, high = 0, 65535
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if calibrated(middle) <= counts else (low, middle)
    return min((low, high), key=lambda value: abs(calibrated(value) - counts))


def _text(text: str, length: int) -> bytes:
    encoded = text.encode("ascii")
    if len(encoded) > length:
        raise InputError(f"{text!r} is longer than the {length} characters of its field")
    return encoded.ljust(length, b" ")


def _word(value: int) -> bytes:
    return _packed(">H", value)


def _signed(value: int) -> bytes:
    return _packed(">h", value)


def _packed(layout: str, value: int) -> bytes:
    try:
        return struct.pack(layout, value)
    except struct.error as error:
        raise InputError(f"{value} does not fit into the two bytes of its field") from error
