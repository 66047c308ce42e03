"""Raw pages in a column. They are encoded by the demo's own encoder, written from the standard."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.model.enterprise_table import EnterpriseTable, parse_index
from strandkeeper.model.module import ModuleFacts
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.reading import OpticalReading
from strandkeeper.readers.base import ModuleState, PortKey, Sample
from strandkeeper.readers.raw_pages import RawPagesReader
from strandkeeper.readers.registry import readers_for
from strandkeeper_demo.sff_pages import Calibration, Counts, Identity, Status, encode_pages

A0: Oid = (1, 3, 6, 1, 4, 1, 32473, 7, 1)
A2: Oid = (1, 3, 6, 1, 4, 1, 32473, 7, 2)
PORTS = (PortKey(if_index=5, name="Gi5"),)
# 35.2 °C = 9011/256, 3.3012 V, 16.1 mA, 0.2427 mW = -6.15 dBm, 0.1963 mW = -7.07 dBm
COUNTS = Counts(temp=9011, vcc=33012, bias=8050, tx=2427, rx=1963)
APART = EnterpriseTable(name="pages", index=parse_index("ifIndex"), page_a0=A0, page_a2=A2)
TOGETHER = EnterpriseTable(name="pages", index=parse_index("ifIndex"), pages=A0)


def decoded(a0: Value | None, a2: Value | None) -> Sample:
    walked: dict[Oid, dict[Oid, Value]] = {A0: {(5,): a0 or b""}, A2: {(5,): a2 or b""}}
    reader = RawPagesReader(APART).bind(walked, PORTS).ports[5]
    given = {(*A0, 5): a0, (*A2, 5): a2}
    return reader.decode({oid: v for oid, v in given.items() if v is not None})


def test_pages_give_the_reading_and_the_serial_number() -> None:
    sample = decoded(*encode_pages(COUNTS, identity=Identity(serial="TSX9")))
    reading = sample.reading
    assert reading is not None
    assert (reading.temp_c, reading.vcc_v, reading.bias_ma) == pytest.approx(
        (35.2, 3.3012, 16.1), abs=1e-3
    )
    assert isinstance(reading.rx, Measured)
    assert isinstance(reading.tx, Measured)
    assert reading.rx.power.value == pytest.approx(-7.07, abs=0.005)
    assert reading.tx.power.value == pytest.approx(-6.15, abs=0.005)
    assert (sample.module, sample.module_id) == (
        ModuleState.PRESENT,
        "TSX9, DEMO-LX10, 1310 nm",
    )
    assert sample.facts == ModuleFacts(
        serial="TSX9", maker="INVENTED", part="DEMO-LX10", wavelength_nm=1310.0
    )


@pytest.mark.parametrize("other", [{"part": "DEMO-LX20"}, {"wavelength_nm": 1550}])
def test_another_kind_of_module_under_the_same_number_is_another_module(
    other: dict[str, Any],
) -> None:
    one = decoded(*encode_pages(COUNTS, identity=Identity(serial="TSX9")))
    two = decoded(*encode_pages(COUNTS, identity=Identity(serial="TSX9", **other)))
    assert one.module_id != two.module_id


def test_both_pages_in_one_string_say_the_same() -> None:
    a0, a2 = encode_pages(COUNTS)
    reader = RawPagesReader(TOGETHER).bind({A0: {(5,): a0 + a2}}, PORTS).ports[5]
    assert reader.decode({(*A0, 5): a0 + a2}) == decoded(a0, a2)
    assert reader.presence == (*A0, 5)


def test_external_calibration_is_applied() -> None:
    external = Calibration(tx_slope=0x0108, tx_offset=-12, rx=(0.0, 0.0, 1.5e-5, 0.18, -3.0))
    reading = decoded(*encode_pages(COUNTS, external=external)).reading
    assert reading is not None
    assert isinstance(reading.rx, Measured)
    assert reading.rx.power.value == pytest.approx(-7.07, abs=0.02)


def test_damaged_calibration_reports_nothing() -> None:
    a0, a2 = encode_pages(COUNTS, external=Calibration(tx_slope=0x0108))
    damaged = a2[:77] + bytes([a2[77] ^ 1]) + a2[78:]
    assert decoded(a0, damaged).reading == OpticalReading()


def test_no_counts_are_no_light() -> None:
    reading = decoded(*encode_pages(Counts(temp=9011, vcc=33012, bias=8050, tx=2427, rx=0))).reading
    assert reading is not None
    assert reading.rx == NO_LIGHT


def test_figures_at_the_end_of_their_scale_are_no_measurements() -> None:
    full = Counts(temp=9011, vcc=33012, bias=0xFFFF, tx=2427, rx=0xFFFF)
    reading = decoded(*encode_pages(full)).reading
    assert reading is not None
    assert (reading.rx, reading.bias_ma) == (NOT_REPORTED, None)
    assert isinstance(reading.tx, Measured)


def test_a_module_that_is_not_ready_reports_nothing() -> None:
    assert decoded(*encode_pages(COUNTS, status=Status(not_ready=True))).reading == OpticalReading()


def test_a_receive_power_in_oma_is_not_taken_for_an_average() -> None:
    a0, a2 = encode_pages(COUNTS)
    oma = bytearray(a0)
    oma[92] &= ~0x08  # A0h 92 bit 3: average power
    oma[95] = sum(oma[64:95]) % 256
    reading = decoded(bytes(oma), a2).reading
    assert reading is not None
    assert reading.rx == NOT_REPORTED
    assert isinstance(reading.tx, Measured)


def test_a_damaged_serial_page_names_no_module() -> None:
    a0, a2 = encode_pages(COUNTS, identity=Identity(serial="TSX9"))
    assert decoded(a0[:70] + b"?" + a0[71:], a2).module_id is None


@pytest.mark.parametrize("filler", [b"", bytes(256), b"\xff" * 256])
def test_empty_pages_are_a_port_without_a_module(filler: bytes) -> None:
    assert decoded(filler, filler) == Sample(reading=OpticalReading())


def test_rows_that_are_gone_are_a_module_that_is_gone() -> None:
    gone = decoded(Absent.NO_SUCH_INSTANCE, Absent.NO_SUCH_INSTANCE)
    assert (gone.module, gone.reading) == (ModuleState.GONE, OpticalReading())
    assert decoded(Absent.FAILED, Absent.FAILED).reading is None


def test_a_page_a2h_alone_is_read_all_the_same() -> None:
    _, a2 = encode_pages(COUNTS)
    reading = decoded(None, a2).reading
    assert reading is not None
    assert isinstance(reading.rx, Measured)


def test_a_table_of_pages_gets_the_reader_of_pages() -> None:
    assert isinstance(readers_for([APART])[0], RawPagesReader)


@given(st.binary(max_size=600), st.binary(max_size=300))
def test_no_octets_break_the_reading(a0: bytes, a2: bytes) -> None:
    decoded(a0, a2)
    reader = RawPagesReader(TOGETHER).bind({A0: {(5,): a0}}, PORTS).ports[5]
    reader.decode({(*A0, 5): a0})


@given(st.integers(0, 255), st.integers(0, 255), st.integers(0, 511))
def test_no_single_octet_breaks_the_reading(first: int, second: int, at: int) -> None:
    whole = bytearray(b"".join(encode_pages(COUNTS)))
    whole[at] = first
    whole[(at * 7) % 512] = second
    decoded(bytes(whole[:256]), bytes(whole[256:]))
