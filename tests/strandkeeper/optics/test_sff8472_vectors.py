"""The vectors that SFF-8472 Rev 12.2 prints, and those computed from its equations."""

from __future__ import annotations

import struct

import pytest
from tests.strandkeeper.optics.pages import a0_page, a2_page

from strandkeeper.optics.recognise import Sureness, from_module
from strandkeeper.optics.sff8472 import decode_diagnostics, decode_identity
from strandkeeper.optics.sff8472.calibration import constants_from
from strandkeeper.optics.sff8472.words import Calibration, DiagnosticType, PowerKind

EXTERNAL = DiagnosticType(
    implemented=True,
    calibration=Calibration.EXTERNAL,
    power_kind=PowerKind.AVERAGE,
    address_change=False,
    alarm_flags=True,
    soft_tx_disable=False,
    soft_tx_fault=True,
    soft_rx_los=True,
    soft_rate_select=False,
    revision_code=8,
)
INTERNAL = decode_identity(a0_page()).diagnostics


@pytest.mark.parametrize(
    ("raw", "celsius"),
    [
        pytest.param(raw, value, id=f"SFF-8472 12.2 table 9-2 {raw}")
        for raw, value in (
            ("7FFF", 127.996),
            ("7D00", 125.0),
            ("1900", 25.0),
            ("0101", 1.004),
            ("0100", 1.0),
            ("00FF", 0.996),
            ("0001", 0.004),
            ("0000", 0.0),
            ("FFFF", -0.004),
            ("FF00", -1.0),
            ("E700", -25.0),
            ("D800", -40.0),
            ("8001", -127.996),
            ("8000", -128.0),  # a maker's application note, table 3.14
        )
    ],
)
def test_temperatures(raw: str, celsius: float) -> None:
    found = decode_diagnostics(a2_page({96: bytes.fromhex(raw)}), INTERNAL)
    assert found.temp_c == pytest.approx(celsius, abs=5e-4)


@pytest.mark.parametrize(
    ("raw", "slope"),
    [
        pytest.param(raw, value, id=f"SFF-8472 12.2 table 9-7 {raw}")
        for raw, value in (
            ("0000", 0.0),
            ("0001", 0.0039),
            ("0100", 1.0),
            ("0108", 1.0313),
            ("01FF", 1.9961),
            ("0200", 2.0),
            ("FFFE", 255.9921875),
            ("FFFF", 255.9961),
        )
    ],
)
def test_slopes(raw: str, slope: float) -> None:
    found = constants_from(a2_page({84: bytes.fromhex(raw)}))
    assert found.linear[0][0] == pytest.approx(slope, abs=5.01e-5)


def test_the_slope_table_truncates_where_it_should_round() -> None:
    """Table 9-7 prints FFFE as 255.9921; 65534/256 is 255.9921875, which rounds to 255.9922."""
    assert constants_from(a2_page({84: b"\xff\xfe"})).linear[0][0] == 255.9921875


@pytest.mark.parametrize(
    ("raw", "offset"),
    [
        pytest.param(raw, value, id=f"SFF-8472 12.2 table 9-8 {raw}")
        for raw, value in (
            ("7FFF", 32767),  # its binary column misprints the low byte with seven ones
            ("0003", 3),
            ("0002", 2),
            ("0001", 1),
            ("0000", 0),
            ("FFFF", -1),
            ("FFFE", -2),
            ("FFFD", -3),
            ("8000", -32768),
        )
    ],
)
def test_offsets(raw: str, offset: int) -> None:
    assert constants_from(a2_page({86: bytes.fromhex(raw)})).linear[0][1] == offset


@pytest.mark.parametrize(
    ("raw", "milliampere"),
    [
        pytest.param(raw, value, id=f"SFF-8472 12.2 table 9-4 {raw}")
        for raw, value in (
            ("7FFF", 3276.7),
            ("0001", 0.1),
            ("FFFF", -0.1),
            ("E700", -640.0),
            ("8000", -3276.8),
        )
    ],
)
def test_cooler_currents(raw: str, milliampere: float) -> None:
    kind = decode_identity(a0_page(b64=0x04)).diagnostics
    found = decode_diagnostics(a2_page({108: bytes.fromhex(raw)}), kind)
    assert found.cooler_ma == pytest.approx(milliampere)


def external_page(extra: dict[int, bytes]) -> bytes:
    one = bytes.fromhex("01000000") * 4
    return a2_page({56: struct.pack(">5f", 0, 0, 0, 1, 0), 76: one, **extra})


@pytest.mark.parametrize(
    ("slope", "offset", "raw", "celsius"),
    [
        pytest.param("0108", "FF80", "1900", 25.28125, id="section 9.3 computed: 6472 counts"),
        pytest.param("0108", "0000", "FF00", -1.03125, id="section 9.3 computed: -264 counts"),
    ],
)
def test_externally_calibrated_temperature(
    slope: str, offset: str, raw: str, celsius: float
) -> None:
    page = external_page({84: bytes.fromhex(slope + offset), 96: bytes.fromhex(raw)})
    assert decode_diagnostics(page, EXTERNAL).temp_c == celsius


def test_externally_calibrated_bias() -> None:
    """Section 9.3 computed: 2 · 3000 - 150 = 5850 counts of 2 µA = 11.7 mA."""
    page = external_page(
        {76: bytes.fromhex("0200") + (-150).to_bytes(2, "big", signed=True), 100: b"\x0b\xb8"}
    )
    assert decode_diagnostics(page, EXTERNAL).bias_ma == pytest.approx(11.7)


def test_externally_calibrated_receive_power() -> None:
    """Section 9.3 computed: 1.5e-5·2000² + 0.18·2000 - 3 = 417 counts = 41.7 µW = -13.7986 dBm."""
    coefficients = bytes.fromhex("0000000000000000377BA8823E3851ECC0400000")
    page = external_page({56: coefficients, 104: (2000).to_bytes(2, "big")})
    found = decode_diagnostics(page, EXTERNAL)
    assert found.rx is not None
    assert found.rx.value == pytest.approx(41.7, abs=1e-4)
    assert found.rx.to_milliwatt().to_dbm().value == pytest.approx(-13.7986, abs=5e-5)


def test_result_of_external_calibration_is_in_lsb_not_in_micro_units() -> None:
    """Section 9.3 heads its equations 'V(uV)', then says the result is in units of 100 µV."""
    found = decode_diagnostics(external_page({98: (33000).to_bytes(2, "big")}), EXTERNAL)
    assert found.vcc_v == pytest.approx(3.3)


def test_thresholds_of_an_externally_calibrated_module_are_calibrated_as_well() -> None:
    """Sections 9.3 and 9.4: thresholds are counts; receive thresholds need the polynomial."""
    page = external_page(
        {
            56: struct.pack(">5f", 0, 0, 0, 2.0, 10.0),
            32: b"".join(n.to_bytes(2, "big") for n in (3000, 45, 2500, 95)),
            84: bytes.fromhex("0200FF00"),
            0: b"".join(n.to_bytes(2, "big", signed=True) for n in (12800, -5120, 12000, 0)),
        }
    )
    found = decode_diagnostics(page, EXTERNAL)
    assert found.rx_limits is not None
    assert found.rx_limits.low_alarm.value == pytest.approx((2 * 45 + 10) * 0.1)
    assert found.rx_limits.high_alarm.value == pytest.approx((2 * 3000 + 10) * 0.1)
    assert found.temp_limits is not None
    assert found.temp_limits.high_alarm == pytest.approx(2 * 50.0 - 1)
    assert found.temp_limits.low_alarm == pytest.approx(2 * -20.0 - 1)


def test_identity_floats() -> None:
    """1.0 = 3F800000, 0.0 = 00000000, 0.1 = 3DCCCCCD; byte 56 is the fourth power (table 9-6)."""
    page = a2_page({56: bytes.fromhex("3DCCCCCD00000000000000003F80000000000000")})
    found = constants_from(page).rx
    assert list(found) == [pytest.approx(0.1), 0.0, 0.0, 1.0, 0.0]


def test_a_calibration_that_is_no_number_gives_no_reading_but_a_sentence() -> None:
    """Section 9.5: 'NaN indicates an invalid result'."""
    found = decode_diagnostics(external_page({68: bytes.fromhex("7FC00000")}), EXTERNAL)
    assert found.rx is None
    assert found.rx_limits is None
    assert found.tx is not None
    told = [p for p in found.problems if "receive power" in p]
    assert told == ["calibration of receive power gives no number: its constants are invalid"]


TABLE_5_5 = [
    ("100BASE-LX10", {"b6": 0x10, "b12": 0x01, "b14": 0x0A, "b15": 0x64}, 0x051E),
    ("1000BASE-SX", {"b6": 0x01, "b14": 0, "b15": 0, "b16": 0x37, "b17": 0x1B}, 0x0352),
    ("1000BASE-LX", {"b6": 0x02, "b14": 5, "b15": 0x32, "b16": 0x37, "b17": 0x37}, 0x051E),
    ("1000BASE-LX10", {"b6": 0x02, "b14": 0x0A, "b15": 0x64}, 0x051E),
    ("1000BASE-BX10-D", {"b6": 0x40, "b14": 0x0A, "b15": 0x64}, 0x05D2),
    ("1000BASE-BX10-U", {"b6": 0x40, "b14": 0x0A, "b15": 0x64}, 0x051E),
    ("10GBASE-SR", {"b3": 0x10, "b6": 0, "b12": 0x67, "b14": 0, "b15": 0}, 0x0352),
    ("10GBASE-LR", {"b3": 0x20, "b6": 0, "b12": 0x67}, 0x051E),
]


@pytest.mark.parametrize(
    ("name", "codes", "wavelength"),
    [pytest.param(*row, id=f"SFF-8472 12.2 tables 4-4, 5-5 {row[0]}") for row in TABLE_5_5],
)
def test_modules_of_the_documents_own_tables_are_recognised(
    name: str, codes: dict[str, int], wavelength: int
) -> None:
    page = a0_page(b60=wavelength >> 8, b61=wavelength & 0xFF, **codes)
    found = from_module(decode_identity(page))
    assert found.spec is not None
    assert found.spec.name == name
    assert found.sure is Sureness.CERTAIN


def test_the_bx10_bit_is_hexadecimal_40_not_decimal() -> None:
    """Bit 6 of byte 6; a driver once shipped 0x64, which has bits 6, 5 and 2."""
    assert decode_identity(a0_page(b6=0x40)).compliance == ("BASE-BX10",)
    assert decode_identity(a0_page(b6=0x64)).compliance != ("BASE-BX10",)


def test_27_in_byte_17_is_270_m_though_the_standard_says_275() -> None:
    """Table 5-5 note 2: 1Bh stands for the 275 m of IEEE 802.3."""
    assert decode_identity(a0_page(b17=0x1B)).lengths["OM1"].metres == 270


def test_13_in_byte_12_is_1300_though_the_line_runs_at_1250() -> None:
    """Table 5-5 note 1."""
    assert decode_identity(a0_page(b12=0x0D)).rate_mbd == 1300


def test_ff_in_byte_12_means_byte_66_in_units_of_250() -> None:
    """Sections 5.7 and 8.4: 67h · 250 = 25 750 MBd."""
    assert decode_identity(a0_page(b12=0xFF, b66=0x67)).rate_mbd == 25750


def test_a_long_reach_oc_48_module_reads_as_80_km_at_1550() -> None:
    """Table 4-4: OC-48 LR-2: 19h, 50h, FFh, 060Eh."""
    page = a0_page(b4=0x04, b12=0x19, b14=0x50, b15=0xFF, b60=0x06, b61=0x0E)
    found = decode_identity(page)
    assert (found.rate_mbd, found.lengths["single-mode"].metres) == (2500, 80000)
    assert not found.lengths["single-mode"].or_more
    assert found.wavelength_nm == 1550


@pytest.mark.parametrize(
    ("byte_92", "calibration"),
    [
        pytest.param(0x68, Calibration.INTERNAL, id="application note p. 14: 68h internal"),
        pytest.param(0x58, Calibration.EXTERNAL, id="application note p. 14: 58h external"),
        pytest.param(0x78, Calibration.UNSTATED, id="both bits: the specification does not say"),
        pytest.param(0x48, Calibration.UNSTATED, id="neither bit: it does not say either"),
    ],
)
def test_calibration_by_byte_92(byte_92: int, calibration: Calibration) -> None:
    kind = decode_identity(a0_page(b92=byte_92)).diagnostics
    assert kind is not None
    assert kind.calibration is calibration
    assert kind.implemented
    assert kind.power_kind is PowerKind.AVERAGE


def test_bit_3_of_byte_92_says_average_or_oma() -> None:
    kind = decode_identity(a0_page(b92=0x60)).diagnostics
    assert kind is not None
    assert kind.power_kind is PowerKind.OMA
