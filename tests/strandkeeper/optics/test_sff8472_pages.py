"""Whole, truncated, corrupt and foreign pages: a clear word, and what is sound all the same."""

from __future__ import annotations

import pytest
from tests.strandkeeper.optics.pages import a0_page, a2_page, with_a0_checksums

from strandkeeper.errors import DecodeError
from strandkeeper.optics.sff8472 import decode_diagnostics, decode_identity, decode_module
from strandkeeper.optics.sff8472.words import Calibration, Flag

KIND = decode_identity(a0_page()).diagnostics


def test_a_whole_page_has_no_problems() -> None:
    found = decode_identity(a0_page())
    assert found.sound
    assert found.problems == ()
    assert (found.vendor, found.part, found.serial) == ("INVENTED", "PART-1", "SERIAL-1")
    assert (found.made, found.lot) == ("2024-02-29", "A1")


@pytest.mark.parametrize("length", range(1, 256))
def test_an_identity_page_cut_anywhere_says_so_and_keeps_what_it_has(length: int) -> None:
    whole, found = decode_identity(a0_page()), decode_identity(a0_page()[:length])
    assert found.sound == (length >= 96)
    if length < 96:
        assert f"the page ends after {length} bytes" in found.problems[0]
    if length >= 36:
        assert found.vendor == whole.vendor
    if length >= 62:
        assert found.wavelength_nm == 1310
    assert (found.diagnostics is None) == (length < 95)


@pytest.mark.parametrize("length", range(1, 256))
def test_a_diagnostics_page_cut_anywhere_says_so_and_keeps_what_it_has(length: int) -> None:
    page = a2_page({0: b"\x5a\x00"})
    found = decode_diagnostics(page[:length], KIND)
    assert found.sound == (length >= 118)
    assert (found.temp_limits is None) == (length < 40)
    assert (found.rx is None) == (length < 106)
    assert (found.status is None) == (length < 111)
    assert (found.alarms == {}) == (length < 118)


@pytest.mark.parametrize("byte", [0, 20, 62])
def test_a_wrong_checksum_of_the_base_names_what_may_be_garbled(byte: int) -> None:
    page = bytearray(a0_page())
    page[byte] ^= 0x01
    found = decode_identity(bytes(page))
    assert not found.sound
    assert found.problems[0].startswith("checksum of A0h bytes 0 to 62 is wrong: byte 63 says ")
    assert "kind, reach and maker may be garbled" in found.problems[0]


def test_checksums_cover_the_ranges_and_not_the_counts_that_the_text_gives() -> None:
    """Sections 8.2 and 9.6 say 'first 64' and 'first 94' bytes; the ranges are 0-62 and 0-94."""
    page = bytearray(a0_page())
    assert page[63] == sum(page[0:63]) & 0xFF
    assert decode_identity(bytes(page)).sound
    other = bytearray(a2_page({94: b"\x07"}))
    assert decode_diagnostics(bytes(other), KIND).sound
    other[94] ^= 1
    assert not decode_diagnostics(bytes(other), KIND).sound


def test_readings_are_under_no_checksum() -> None:
    page = bytearray(a2_page())
    page[105] ^= 0xFF
    assert decode_diagnostics(bytes(page), KIND).sound


@pytest.mark.parametrize("content", [b"", bytes(256), b"\xff" * 256, bytes(257)])
def test_what_cannot_be_a_page_is_refused(content: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_identity(content)
    with pytest.raises(DecodeError):
        decode_diagnostics(content, KIND)


def test_the_refusal_says_what_to_check() -> None:
    with pytest.raises(DecodeError) as caught:
        decode_identity(b"\xff" * 256)
    assert str(caught.value) == (
        "the A0h page holds nothing but FFh\n"
        "  no module answered: is one seated, and was the right port read?"
    )


def test_flags_that_are_not_kept_are_not_called_clear() -> None:
    """Section 3.1: state bits of an option that is not implemented read 0."""
    kind = decode_identity(a0_page(b93=0x00)).diagnostics
    found = decode_diagnostics(a2_page(), kind)
    assert found.status is not None
    assert found.status.rx_los is Flag.NOT_IMPLEMENTED
    assert found.status.tx_fault is Flag.NOT_IMPLEMENTED
    assert set(found.alarms.values()) == {Flag.NOT_IMPLEMENTED}


def test_flags_that_are_kept_are_set_or_clear() -> None:
    found = decode_diagnostics(a2_page({110: b"\x06", 112: b"\x00\x40", 116: b"\x00\x40"}), KIND)
    assert found.status is not None
    assert found.status.rx_los is Flag.SET
    assert found.status.tx_fault is Flag.SET
    assert found.status.not_ready is Flag.CLEAR
    assert found.alarms["receive power", "low"] is Flag.SET
    assert found.alarms["receive power", "high"] is Flag.CLEAR
    assert found.alarms["laser temperature", "high"] is Flag.NOT_IMPLEMENTED
    assert found.warnings["receive power", "low"] is Flag.SET


def test_without_the_other_page_a_flag_that_reads_0_is_unknown() -> None:
    found = decode_diagnostics(a2_page({112: b"\x80\x00"}), None)
    assert found.alarms["temperature", "high"] is Flag.SET
    assert found.alarms["temperature", "low"] is Flag.UNKNOWN
    assert any("without the A0h page" in p for p in found.problems)
    assert found.power_kind is None


def test_data_ready_is_inverted() -> None:
    """Table 9-11: bit 0 is data_ready_bar."""
    found = decode_diagnostics(a2_page({110: b"\x01"}), KIND)
    assert found.status is not None
    assert found.status.not_ready is Flag.SET
    assert "the module says that its readings are not ready yet" in found.problems


def test_no_light_is_0_and_full_scale_is_no_measurement() -> None:
    found = decode_diagnostics(a2_page({102: b"\xff\xff", 104: b"\x00\x00"}), KIND)
    assert found.rx is not None
    assert found.rx.value == 0
    assert found.saturated == ("transmit power",)
    assert "transmit power is at the end of its scale: no measurement" in found.problems


def test_a_page_whose_module_has_no_diagnostics_is_not_read() -> None:
    """Section 8.8: with 92.6 = 0 nothing at A2h is promised."""
    found = decode_module(a0_page(b92=0x00), a2_page())
    assert found.diagnostics is None
    assert "no diagnostics" in found.no_diagnostics
    assert found.problems == ()


def test_calibration_that_is_not_stated_uses_the_constants_when_they_can_be_some() -> None:
    """Bits 92.5 and 92.4 both set or both clear; an internal part carries slope 1, offset 0."""
    kind = decode_identity(a0_page(b92=0x78)).diagnostics
    empty = decode_diagnostics(a2_page(), kind)
    assert empty.temp_c == 25.0
    assert empty.calibration is Calibration.UNSTATED
    slope = bytes.fromhex("0100") + b"\0\0"
    real = a2_page(
        {56: bytes.fromhex("00" * 12 + "3F800000" + "00000000"), 76: slope * 2, 84: slope * 2}
    )
    shifted = bytearray(real)
    shifted[86:88] = (256).to_bytes(2, "big")
    shifted[95] = sum(shifted[:95]) & 0xFF
    assert decode_diagnostics(bytes(shifted), kind).temp_c == 26.0


def test_a_cable_with_fixed_ends_has_no_wavelength() -> None:
    """Section 8.1: bytes 60 and 61 are something else then."""
    found = decode_identity(a0_page(b8=0x04, b18=3))
    assert found.cable_assembly
    assert found.wavelength_nm is None
    assert found.lengths["copper"].metres == 3


def test_more_than_the_scale_is_more_and_the_coarser_byte_helps() -> None:
    found = decode_identity(a0_page(b14=80, b15=255)).lengths["single-mode"]
    assert (found.metres, found.or_more) == (80000, False)
    found = decode_identity(a0_page(b14=255, b15=255)).lengths["single-mode"]
    assert (found.metres, found.or_more) == (254000, True)


def test_bytes_that_older_revisions_did_not_have_are_not_read() -> None:
    """Byte 19 is OM3 since Rev 10, byte 18 OM4 since 11.3, byte 36 a code since 11.9."""
    given = {"b18": 40, "b19": 30, "b36": 0x03}
    assert set(decode_identity(a0_page(b94=0x01, **given)).lengths) == {"single-mode"}
    assert set(decode_identity(a0_page(b94=0x05, **given)).lengths) == {"single-mode", "OM3"}
    newer = decode_identity(a0_page(b94=0x08, **given))
    assert set(newer.lengths) == {"single-mode", "OM3", "OM4"}
    assert "25GBASE-LR" in newer.compliance
    assert "25GBASE-LR" not in decode_identity(a0_page(b94=0x07, **given)).compliance


def test_a_form_that_follows_another_map_is_said() -> None:
    found = decode_identity(a0_page(b0=0x11))
    assert found.problems[0].startswith("byte 0 says form 11h, which is no SFP")


def test_text_that_is_none_is_shown_as_such() -> None:
    page = bytearray(a0_page())
    page[20:24] = b"\x01\xffAB"
    found = decode_identity(with_a0_checksums(page))
    assert found.vendor is not None
    assert found.vendor.startswith("??AB")
    assert any("maker's name holds bytes that are no text" in p for p in found.problems)


def test_a_date_that_is_none_is_said() -> None:
    page = bytearray(a0_page())
    page[84:90] = b"241399"
    found = decode_identity(with_a0_checksums(page))
    assert found.made is None
    assert "the date code is no date" in found.problems


def test_a_damaged_identity_still_lets_the_readings_through() -> None:
    found = decode_module(b"\xff" * 256, a2_page())
    assert found.identity is None
    assert found.diagnostics is not None
    assert found.diagnostics.temp_c == 25.0
    assert "the A0h page holds nothing but FFh" in found.problems
