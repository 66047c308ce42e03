"""Meter arithmetic: what each method includes, acceptance, and sources that are none."""

from __future__ import annotations

import pytest

from strandkeeper.errors import InputError
from strandkeeper.optics.meter import (
    Cords,
    MeterVerdict,
    acceptance,
    acceptance_limit,
    check_source,
    insertion_loss,
)
from strandkeeper.optics.units import Db, Dbm


def limit(cords: Cords) -> float:
    return acceptance_limit(length_m=800, wavelength_nm=1310, cords=cords).limit.value


def test_the_limit_counts_what_the_method_sees() -> None:
    """TIA form: 0.8 · 0.4 + n · 0.75 with n = 2 ends (one cord), 1 (two cords), 0 (three cords)."""
    assert limit(1) == pytest.approx(0.32 + 1.5)
    assert limit(2) == pytest.approx(0.32 + 0.75)
    assert limit(3) == pytest.approx(0.32)


@pytest.mark.parametrize(
    ("cords", "includes"),
    [
        (1, "the cable and the connections at both its ends"),
        (2, "the cable and the connection at one of its ends"),
        (3, "the cable alone, without the connections at its ends"),
    ],
)
def test_a_loss_says_what_it_is_the_loss_of(cords: Cords, includes: str) -> None:
    found = insertion_loss(Dbm(-10), Dbm(-11.5), cords=cords)
    assert found.loss == Db(1.5)
    assert found.includes == includes


def verdict(loss: float, of: float = 1.82, chance: float = 0.5) -> MeterVerdict:
    measured = insertion_loss(Dbm(-10), Dbm(-10 - loss))
    return acceptance(measured, Db(of), second_chance=Db(chance)).verdict


@pytest.mark.parametrize(
    ("loss", "wanted"),
    [
        pytest.param(1.0, MeterVerdict.ACCEPT, id="MIL-STD-2042 6E1 at or below"),
        pytest.param(1.82, MeterVerdict.ACCEPT, id="MIL-STD-2042 6E1 at the limit"),
        pytest.param(1.83, MeterVerdict.CLEAN_AND_RETEST, id="MIL-STD-2042 6E1 a little above"),
        pytest.param(2.31, MeterVerdict.CLEAN_AND_RETEST, id="MIL-STD-2042 6E1 under 0.5 above"),
        pytest.param(2.32, MeterVerdict.REJECT, id="MIL-STD-2042 6E1 0.5 dB above"),
        pytest.param(-0.5, MeterVerdict.BAD_REFERENCE, id="MIL-STD-2042 6E1 above the reference"),
        pytest.param(-0.05, MeterVerdict.ACCEPT, id="last digit of the meter"),
    ],
)
def test_acceptance_of_a_cable(loss: float, wanted: MeterVerdict) -> None:
    assert verdict(loss) is wanted


def test_a_link_of_several_cables_has_a_whole_db_of_second_chance() -> None:
    """MIL-STD-2042 method 6E1: link 1.0 dB or more above: reject."""
    assert verdict(2.6, chance=1.0) is MeterVerdict.CLEAN_AND_RETEST
    assert verdict(2.82, chance=1.0) is MeterVerdict.REJECT


def test_a_visual_fault_locator_is_no_source() -> None:
    for kind, nm in (("vfl", 1310), ("laser", 650), ("visual fault locator", 650)):
        with pytest.raises(InputError, match="cannot measure loss") as caught:
            check_source(kind, source_nm=nm, meter_nm=nm, link_nm=1310)
        assert "use a stabilised source of 1310 nm" in caught.value.hint


def test_a_wrong_wavelength_is_no_source() -> None:
    with pytest.raises(InputError, match="sends 1550 nm but the meter is set to 1310 nm"):
        check_source("laser", source_nm=1550, meter_nm=1310, link_nm=1310)
    with pytest.raises(InputError, match="sends 1550 nm but the link runs at 1310 nm"):
        check_source("laser", source_nm=1550, meter_nm=1550, link_nm=1310)
    check_source("led", source_nm=1300, meter_nm=1310, link_nm=1310)


def test_below_the_floor_of_a_meter_is_no_light() -> None:
    """Common practice, no source: meters bottom out near -70 dBm."""
    with pytest.raises(InputError, match="below what a meter can show"):
        insertion_loss(Dbm(-10), Dbm(-71))


def test_a_method_that_hides_more_than_there_is_is_refused() -> None:
    with pytest.raises(InputError, match="1 mated pairs are fewer than the 2"):
        acceptance_limit(length_m=10, wavelength_nm=1310, matings=1, cords=3)
