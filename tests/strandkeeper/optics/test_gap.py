"""Gap, shift and tilt against an overlap integral done by numbers alone."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.errors import InputError
from strandkeeper.optics.gap import (
    explain_by_gap,
    gap_loss,
    mode_field_um,
    offset_loss,
    tilt_loss,
)
from strandkeeper.optics.units import Db

WAVELENGTH_UM = 1.31


def overlap_db(gap_um: float = 0.0, offset_um: float = 0.0, tilt: float = 0.0) -> float:
    """Power coupled into the fibre's mode by a Gaussian field after free flight, in -dB.

    The field is carried across the gap as a sum of plane waves (angular spectrum), which knows
    nothing of the closed formula under test.
    """
    w = mode_field_um(1310) / 2
    size, points = 40 * w, 512
    x = (np.arange(points) - points // 2) * (size / points)
    xx, yy = np.meshgrid(x, x)
    mode = np.exp(-(xx**2 + yy**2) / w**2)
    k = 2 * math.pi / WAVELENGTH_UM
    kx = 2 * math.pi * np.fft.fftfreq(points, size / points)
    kxx, kyy = np.meshgrid(kx, kx)
    kz = np.sqrt(np.maximum(k**2 - kxx**2 - kyy**2, 0))
    field = np.fft.ifft2(np.fft.fft2(mode) * np.exp(1j * kz * gap_um))
    target = np.exp(-((xx - offset_um) ** 2 + yy**2) / w**2) * np.exp(1j * k * math.sin(tilt) * xx)
    power = abs(np.sum(field * np.conj(target))) ** 2 / (np.sum(mode**2) ** 2)
    return float(-10 * np.log10(power))


@pytest.mark.parametrize("gap_um", [5, 20, 52, 101, 200])
def test_gap_agrees_with_a_field_carried_across_by_plane_waves(gap_um: float) -> None:
    found = gap_loss(gap_um, wavelength_nm=1310).value
    assert found == pytest.approx(overlap_db(gap_um=gap_um), rel=0.02)


@pytest.mark.parametrize("offset_um", [0.5, 1.0, 2.0, 4.6])
def test_shift_agrees_with_the_overlap_integral(offset_um: float) -> None:
    found = offset_loss(offset_um, wavelength_nm=1310).value
    assert found == pytest.approx(overlap_db(offset_um=offset_um), rel=1e-3)


@pytest.mark.parametrize("degrees", [0.5, 1.0, 2.0])
def test_tilt_agrees_with_the_overlap_integral(degrees: float) -> None:
    found = tilt_loss(degrees, wavelength_nm=1310).value
    assert found == pytest.approx(overlap_db(tilt=math.radians(degrees)), rel=1e-2)


def test_an_open_gap_reflects_0_32_db_and_at_most_0_62() -> None:
    """Fresnel, n = 1.468: 3.60 % a face; two faces 0.32 dB, 0.62 dB at the worst spacing."""
    bare = explain_by_gap(Db(0.32), wavelength_nm=1310)
    assert bare.likely_um == pytest.approx(4, abs=3)  # all of it is reflection
    assert bare.shortest_um == 0.0
    assert explain_by_gap(Db(0.31), wavelength_nm=1310).likely_um is None
    assert explain_by_gap(Db(0.62), wavelength_nm=1310).shortest_um == 0.0
    assert explain_by_gap(Db(0.63), wavelength_nm=1310).shortest_um > 0.0


@given(st.floats(0.7, 20))
def test_the_gap_found_loses_what_was_to_be_explained(loss: float) -> None:
    found = explain_by_gap(Db(loss), wavelength_nm=1310)
    assert found.likely_um is not None
    assert found.shortest_um < found.likely_um < found.longest_um
    assert gap_loss(found.longest_um, wavelength_nm=1310).value == pytest.approx(loss)
    back = gap_loss(found.likely_um, wavelength_nm=1310).value
    assert back + 0.3181 == pytest.approx(loss, abs=1e-3)


@given(st.floats(0, 1000), st.floats(0.1, 100))
def test_a_wider_gap_loses_more(gap: float, more: float) -> None:
    assert gap_loss(gap + more, wavelength_nm=1310) > gap_loss(gap, wavelength_nm=1310)


def test_gel_in_the_gap_lets_it_be_wider() -> None:
    """In gel of n = 1.46 the beam spreads 1.46 times less for the same way."""
    air = gap_loss(50, wavelength_nm=1310).value
    assert gap_loss(50 * 1.46, wavelength_nm=1310, index=1.46).value == pytest.approx(air)


def test_nothing_and_multimode_are_refused() -> None:
    with pytest.raises(InputError, match="needs no explanation"):
        explain_by_gap(Db(0), wavelength_nm=1310)
    with pytest.raises(InputError, match="850 nm is no wavelength of single-mode"):
        explain_by_gap(Db(1), wavelength_nm=850)
    with pytest.raises(InputError, match="the gap is -1"):
        gap_loss(-1, wavelength_nm=1310)
