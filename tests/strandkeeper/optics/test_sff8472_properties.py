"""Any bytes decode or raise the one error; an encoder of another hand agrees page for page."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strandkeeper.errors import DecodeError
from strandkeeper.optics.recognise import from_module
from strandkeeper.optics.sff8472 import decode_module, pages_from_bytes
from strandkeeper.optics.sff8472.words import Calibration as Calibrated
from strandkeeper.optics.sff8472.words import Flag
from strandkeeper_demo.plant import Counts
from strandkeeper_demo.sff_pages import (
    Calibration,
    Identity,
    Limits,
    Status,
    Thresholds,
    encode_pages,
)

PAGES = 10_000


@settings(max_examples=500)
@given(
    st.binary(min_size=0, max_size=300), st.one_of(st.none(), st.binary(min_size=0, max_size=300))
)
def test_any_bytes_decode_or_raise_the_one_error(a0: bytes, a2: bytes | None) -> None:
    try:
        found = decode_module(a0, a2)
    except DecodeError:
        return
    if found.identity is not None:
        from_module(found.identity)


@settings(max_examples=300)
@given(st.binary(min_size=256, max_size=256), st.binary(min_size=256, max_size=256))
def test_any_two_whole_pages_decode(a0: bytes, a2: bytes) -> None:
    hopeless = (bytes(256), b"\xff" * 256)
    if a0 in hopeless and a2 in hopeless:
        with pytest.raises(DecodeError):
            decode_module(a0, a2)
        return
    assert (decode_module(a0, a2).identity is None) == (a0 in hopeless)


@settings(max_examples=500)
@given(st.one_of(st.binary(max_size=600), st.text(max_size=300).map(str.encode)))
def test_any_file_gives_pages_or_raises_the_one_error(content: bytes) -> None:
    try:
        found = pages_from_bytes(content)
    except DecodeError:
        return
    assert found.a0 or found.a2


def some_limits(rng: random.Random, low: int, high: int) -> Limits:
    values = sorted(rng.randint(low, high) for _ in range(4))
    return Limits(
        low_alarm=values[0], low_warning=values[1], high_warning=values[2], high_alarm=values[3]
    )


def some_module(rng: random.Random) -> tuple[Counts, Identity, Thresholds, Status]:
    counts = Counts(
        temp=rng.randint(-(40 * 256), 95 * 256),
        vcc=rng.randint(29000, 36000),
        bias=rng.randint(0, 50000),
        tx=rng.randint(0, 60000),
        rx=rng.choice((0, rng.randint(1, 200), rng.randint(1, 60000))),
    )
    identity = Identity(
        connector=rng.choice((0x01, 0x07, 0x22)),
        ten_gigabit=rng.choice((0, 0x10, 0x20, 0x40, 0x80)),
        ethernet=rng.randint(0, 255),
        rate_100mbd=rng.randint(1, 254),
        length_smf_km=rng.randint(0, 254),
        length_smf_100m=rng.randint(0, 254),
        wavelength_nm=rng.randint(800, 1650),
        maker="".join(rng.choices("ABCDEFGH", k=rng.randint(1, 16))),
        part="".join(rng.choices("PQ-19", k=rng.randint(1, 16))),
        serial="".join(rng.choices("S0123456789", k=rng.randint(1, 16))),
        date=f"{rng.randint(0, 99):02d}{rng.randint(1, 12):02d}{rng.randint(1, 28):02d}",
    )
    thresholds = Thresholds(
        temp=some_limits(rng, -(45 * 256), 100 * 256),
        vcc=some_limits(rng, 28000, 37000),
        bias=some_limits(rng, 0, 55000),
        tx=some_limits(rng, 0, 60000),
        rx=some_limits(rng, 0, 60000),
    )
    status = Status(
        tx_disabled=rng.random() < 0.2,
        tx_fault=rng.random() < 0.2,
        rx_los=rng.random() < 0.2,
        not_ready=rng.random() < 0.1,
    )
    return counts, identity, thresholds, status


def some_calibration(rng: random.Random) -> Calibration:
    """Constants as makers write them: slopes about 1, a receive curve that rises."""
    return Calibration(
        rx=(0.0, 0.0, rng.uniform(0, 2e-6), rng.uniform(0.95, 1.3), rng.uniform(-5, 5)),
        bias_slope=rng.randint(0x00F8, 0x0140),
        bias_offset=rng.randint(-20, 20),
        tx_slope=rng.randint(0x00F8, 0x0140),
        tx_offset=rng.randint(-20, 20),
        temp_slope=rng.randint(0x00F8, 0x0140),
        temp_offset=rng.randint(-256, 256),
        vcc_slope=rng.randint(0x00F8, 0x0140),
        vcc_offset=rng.randint(-20, 20),
    )


def test_ten_thousand_pages_of_another_hand_come_back_as_they_went_in() -> None:
    rng = random.Random(8472)
    for _ in range(PAGES):
        counts, identity, thresholds, status = some_module(rng)
        a0, a2 = encode_pages(counts, identity=identity, thresholds=thresholds, status=status)
        check_identity(a0, a2, identity)
        check_exact(a0, a2, counts, thresholds, status)


def check_identity(a0: bytes, a2: bytes, wanted: Identity) -> None:
    found = decode_module(a0, a2).identity
    assert found is not None
    assert found.sound, found.problems
    assert (found.vendor, found.part, found.serial) == (wanted.maker, wanted.part, wanted.serial)
    assert found.wavelength_nm == wanted.wavelength_nm
    assert found.rate_mbd == wanted.rate_100mbd * 100
    assert found.made is not None
    assert found.made[2:].replace("-", "") == wanted.date
    if wanted.length_smf_100m:
        assert found.lengths["single-mode"].metres == wanted.length_smf_100m * 100


def check_exact(
    a0: bytes, a2: bytes, counts: Counts, thresholds: Thresholds, status: Status
) -> None:
    found = decode_module(a0, a2).diagnostics
    assert found is not None
    assert found.sound
    assert found.calibration is Calibrated.INTERNAL
    assert found.temp_c == counts.temp / 256
    assert found.vcc_v == pytest.approx(counts.vcc * 1e-4, abs=1e-9)
    assert found.bias_ma == pytest.approx(counts.bias * 2e-3, abs=1e-9)
    assert found.tx is not None
    assert found.rx is not None
    assert found.tx.value == pytest.approx(counts.tx * 0.1, abs=1e-9)
    assert found.rx.value == pytest.approx(counts.rx * 0.1, abs=1e-9)
    assert found.rx_limits is not None
    assert found.rx_limits.low_alarm.value == pytest.approx(thresholds.rx.low_alarm * 0.1)
    assert found.rx_limits.high_warning.value == pytest.approx(thresholds.rx.high_warning * 0.1)
    assert found.temp_limits is not None
    assert found.temp_limits.low_warning == thresholds.temp.low_warning / 256
    assert found.status is not None
    assert (found.status.rx_los is Flag.SET) == status.rx_los
    assert (found.status.tx_fault is Flag.SET) == status.tx_fault
    assert (found.status.not_ready is Flag.SET) == status.not_ready
    check_flags(found.alarms, counts, thresholds)


def check_flags(found: object, counts: Counts, thresholds: Thresholds) -> None:
    assert isinstance(found, dict)
    for quantity, field in (("temperature", "temp"), ("bias", "bias"), ("receive power", "rx")):
        value, limits = getattr(counts, field), getattr(thresholds, field)
        assert (found[quantity, "high"] is Flag.SET) == (value > limits.high_alarm)
        assert (found[quantity, "low"] is Flag.SET) == (value < limits.low_alarm)


def test_externally_calibrated_pages_of_another_hand_agree_to_one_count() -> None:
    """The encoder rounds to the nearest converter count, so a figure may be off by its slope."""
    rng = random.Random(9396)
    for _ in range(2_000):
        counts, identity, _, _ = some_module(rng)
        constants = some_calibration(rng)
        counts = Counts(
            temp=counts.temp // 2, vcc=counts.vcc, bias=counts.bias, tx=counts.tx, rx=counts.rx
        )
        a0, a2 = encode_pages(counts, identity=identity, external=constants)
        found = decode_module(a0, a2).diagnostics
        assert found is not None
        assert found.calibration is Calibrated.EXTERNAL
        assert found.temp_c == pytest.approx(counts.temp / 256, abs=1.3 / 256)
        assert found.vcc_v == pytest.approx(counts.vcc * 1e-4, abs=1.3e-4)
        assert found.bias_ma == pytest.approx(counts.bias * 2e-3, abs=2.6e-3)
        assert found.tx is not None
        assert found.tx.value == pytest.approx(counts.tx * 0.1, abs=2.2)
        assert found.rx is not None
        assert found.rx.value == pytest.approx(counts.rx * 0.1, abs=0.6)
