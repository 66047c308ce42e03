"""The pages against what SFF-8472 Rev 12.2 prints, by arithmetic of this file's own."""

from __future__ import annotations

import math
import struct

import pytest

from strandkeeper.errors import InputError
from strandkeeper_demo.plant import Counts
from strandkeeper_demo.sff_pages import Calibration, Identity, Status, encode_pages

COUNTS = Counts(temp=9011, vcc=33012, bias=8050, tx=2427, rx=1963)


def word(page: bytes, at: int) -> int:
    return page[at] << 8 | page[at + 1]


def signed(page: bytes, at: int) -> int:
    value = word(page, at)
    return value - 65536 if value & 0x8000 else value


@pytest.mark.parametrize(
    ("identity", "printed"),
    [
        pytest.param(
            Identity(),
            {6: 0x02, 12: 0x0D, 14: 0x0A, 15: 0x64, 60: 0x05, 61: 0x1E},
            id="SFF-8472 12.2 table 5-5 1000BASE-LX10",
        ),
        pytest.param(
            Identity(ethernet=0x40, wavelength_nm=1490),
            {6: 0x40, 12: 0x0D, 14: 0x0A, 15: 0x64, 60: 0x05, 61: 0xD2},
            id="SFF-8472 12.2 tables 5-3 and 5-5 1000BASE-BX10-D",
        ),
        pytest.param(
            Identity(ten_gigabit=0x20, ethernet=0),
            {3: 0x20, 6: 0x00},
            id="SFF-8472 12.2 table 5-5 10GBASE-LR",
        ),
    ],
)
def test_identity_bytes_are_those_the_standard_prints(
    identity: Identity, printed: dict[int, int]
) -> None:
    page, _ = encode_pages(COUNTS, identity=identity)
    assert {at: page[at] for at in printed} == printed


def test_serial_number_stands_left_and_is_padded_with_blanks() -> None:
    page, _ = encode_pages(COUNTS, identity=Identity(serial="TSX9"))
    assert page[68:84] == b"TSX9" + b"\x20" * 12


@pytest.mark.parametrize("external", [None, Calibration(tx_slope=0x0108, tx_offset=-12)])
def test_checksums_cover_the_ranges_the_standard_gives(external: Calibration | None) -> None:
    serial, diagnostics = encode_pages(COUNTS, external=external)
    assert len(serial) == len(diagnostics) == 256
    assert serial[63] == sum(serial[0:63]) % 256  # 8.2: bytes 0 to 62
    assert serial[95] == sum(serial[64:95]) % 256  # 8.12: bytes 64 to 94
    assert diagnostics[95] == sum(diagnostics[0:95]) % 256  # 9.6: bytes 0 to 94


@pytest.mark.parametrize(
    ("hexadecimal", "celsius"),
    [
        ("7FFF", 127.996), ("7D00", 125.0), ("1900", 25.0), ("0101", 1.004), ("0100", 1.0),
        ("00FF", 0.996), ("0001", 0.004), ("0000", 0.0), ("FFFF", -0.004), ("FF00", -1.0),
        ("E700", -25.0), ("D800", -40.0), ("8001", -127.996),
    ],
)  # fmt: skip
def test_temperatures_are_those_of_table_9_2(hexadecimal: str, celsius: float) -> None:
    counts = Counts(temp=round(celsius * 256), vcc=0, bias=0, tx=0, rx=0)
    _, page = encode_pages(counts)
    assert page[96:98].hex().upper() == hexadecimal


def test_internal_calibration_says_so_and_holds_the_figures_themselves() -> None:
    serial, page = encode_pages(COUNTS)
    assert serial[92] == 0x68  # table 8-5: implemented, internally calibrated, average power
    assert [signed(page, 96), *(word(page, at) for at in (98, 100, 102, 104))] == [
        9011, 33012, 8050, 2427, 1963,
    ]  # fmt: skip
    assert page[68:72].hex() == "3f800000"  # Rx_PWR(1) = 1.0


def test_external_calibration_turns_the_raw_values_into_the_figures() -> None:
    external = Calibration(
        rx=(0.0, 0.0, 1.5e-5, 0.18, -3.0),
        bias_slope=0x0200,
        bias_offset=-150,
        tx_slope=0x0108,
        tx_offset=40,
        temp_slope=0x0108,
        temp_offset=-128,
        vcc_slope=0x00F0,
        vcc_offset=7,
    )
    serial, page = encode_pages(COUNTS, external=external)
    assert serial[92] == 0x58
    # Section 9.3, with slopes in 1/256; half a count of the converter is what rounding costs.
    for at, slope, offset, raw, wanted in (
        (84, 1.03125, -128, signed(page, 96), COUNTS.temp),
        (88, 0.9375, 7, word(page, 98), COUNTS.vcc),
        (76, 2.0, -150, word(page, 100), COUNTS.bias),
        (80, 1.03125, 40, word(page, 102), COUNTS.tx),
    ):
        assert word(page, at) / 256 == slope
        assert signed(page, at + 2) == offset
        assert raw * slope + offset == pytest.approx(wanted, abs=slope / 2)
    c4, c3, c2, c1, c0 = struct.unpack(">5f", page[56:76])
    assert (c4, c3, c0) == (0.0, 0.0, -3.0)
    raw = word(page, 104)
    slope_here = 2 * c2 * raw + c1
    assert c2 * raw**2 + c1 * raw + c0 == pytest.approx(COUNTS.rx, abs=slope_here / 2 + 1e-3)


def test_the_worked_receive_polynomial_comes_back_to_its_raw_value() -> None:
    # From 9.3 by hand: 1.5e-5·2000² + 0.18·2000 - 3 = 60 + 360 - 3 = 417.
    external = Calibration(rx=(0.0, 0.0, 1.5e-5, 0.18, -3.0))
    counts = Counts(temp=0, vcc=33000, bias=0, tx=0, rx=417)
    _, page = encode_pages(counts, external=external)
    assert word(page, 104) == 2000
    assert page[56:76].hex() == "0000000000000000377ba8823e3851ecc0400000"


def test_flags_rise_on_the_sides_that_table_9_12_gives_them() -> None:
    hot_and_dark = Counts(temp=88 * 256, vcc=33000, bias=8000, tx=2000, rx=0)
    _, page = encode_pages(hot_and_dark, status=Status(rx_los=True))
    assert page[116] & 0x80  # temperature high warning
    assert not page[112] & 0x80  # not yet the alarm
    assert page[113] & 0x40  # receive power low alarm
    assert page[117] & 0x40
    assert page[110] == 0x02  # table 9-11: RX_LOS, and data ready


def test_powers_are_a_tenth_of_a_microwatt_a_count() -> None:
    _, page = encode_pages(COUNTS)
    # 196.3 µW by hand: 10·log10(0.1963) = -7.0708
    assert 10 * math.log10(word(page, 104) / 10_000) == pytest.approx(-7.0708, abs=1e-4)


def test_what_does_not_fit_is_refused_by_name() -> None:
    with pytest.raises(InputError, match="longer than the 16 characters"):
        encode_pages(COUNTS, identity=Identity(serial="S" * 17))
    with pytest.raises(InputError, match="70000 does not fit"):
        encode_pages(Counts(temp=0, vcc=70000, bias=0, tx=0, rx=0))
