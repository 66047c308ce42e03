"""Classes of optics: look-up, the arithmetic between their figures, and what sources misprint."""

from __future__ import annotations

import pytest

from strandkeeper.errors import InputError
from strandkeeper.optics.pmd import PmdSpec, all_pmds, by_mau_type, by_name, receiver_limits
from strandkeeper.optics.receiver import average_from_oma, oma_from_average
from strandkeeper.optics.source import Tag
from strandkeeper.optics.units import Db, Dbm


def spec_id(spec: PmdSpec) -> str:
    return spec.name


EVERY = pytest.mark.parametrize("spec", all_pmds(), ids=spec_id)


@EVERY
def test_limits_order_as_they_must(spec: PmdSpec) -> None:
    if spec.launch_min and spec.launch_max:
        assert spec.launch_min < spec.launch_max
    if spec.sensitivity and spec.overload:
        assert spec.sensitivity < spec.overload
    if spec.sensitivity and spec.stressed:
        assert spec.sensitivity < spec.stressed  # stress costs light
    if spec.overload and spec.damage:
        assert spec.overload < spec.damage
    if spec.wavelength_min_nm and spec.wavelength_max_nm and spec.wavelength_nm:
        assert spec.wavelength_min_nm < spec.wavelength_nm < spec.wavelength_max_nm


@EVERY
def test_launch_min_less_sensitivity_is_the_power_budget(spec: PmdSpec) -> None:
    """-9.5 + 17 = 7.5 for 1000BASE-SX, and so on: the check that holds a misprint."""
    if spec.launch_min and spec.sensitivity and spec.power_budget:
        assert (spec.launch_min - spec.sensitivity).value == pytest.approx(spec.power_budget.value)


@EVERY
def test_channel_loss_stays_within_the_power_budget(spec: PmdSpec) -> None:
    if spec.insertion_loss and spec.power_budget:
        assert spec.insertion_loss < spec.power_budget


@EVERY
def test_minimum_path_loss_is_what_the_strongest_transmitter_is_over(spec: PmdSpec) -> None:
    """PX10: +2 - (-3) = 5, +4 - (-1) = 5; PX20: +7 - (-3) = 10; ER: 4 - (-1) = 5; ZR 4 + 7 = 11."""
    other = by_name(spec.partner)
    if spec.launch_max and other.overload:
        needed = max((spec.launch_max - other.overload).value, 0.0)
        assert spec.min_path_loss.value == pytest.approx(needed)


@pytest.mark.parametrize(
    ("name", "loss", "penalties", "unallocated", "budget"),
    [
        pytest.param("1000BASE-LX", 4.57, 3.27, 0.16, 8.00, id="802.3 38 LX single-mode"),
        pytest.param("1000BASE-LX-MMF", 2.35, 3.48, 1.67, 7.50, id="802.3 38 LX 62.5 µm 500"),
        pytest.param("1000BASE-LX-MMF", 2.35, 5.08, 0.07, 7.50, id="802.3 38 LX 50 µm 400"),
        pytest.param("1000BASE-LX-MMF", 2.35, 3.96, 1.19, 7.50, id="802.3 38 LX 50 µm 500"),
        pytest.param("10GBASE-SR", 2.6, 4.7, 0.0, 7.3, id="802.3 52 SR"),
        pytest.param("10GBASE-LR", 6.2, 3.2, 0.0, 9.4, id="802.3 52 LR"),
        pytest.param("10GBASE-ER", 10.9, 4.1, 0.0, 15.0, id="802.3 52 ER"),
        pytest.param("100BASE-LX10", 6.0, 4.0, 0.0, 10.0, id="802.3 58 LX10"),
    ],
)
def test_loss_penalties_and_the_rest_add_up_to_the_budget(
    name: str, loss: float, penalties: float, unallocated: float, budget: float
) -> None:
    spec = by_name(name)
    assert spec.insertion_loss == Db(loss)
    assert spec.power_budget == Db(budget)
    assert loss + penalties + unallocated == pytest.approx(budget)


def test_sx_row_four_is_self_consistent() -> None:
    """E10, 1000BASE-SX 50 µm 500 MHz·km: 3.56 + 3.57 = 7.13, within 7.5 dB."""
    assert 3.56 + 3.57 <= 7.5


def test_the_informative_average_minimum_is_not_taken_as_sensitivity() -> None:
    """Clause 52 prints -14.4 (LR) and -9.9 (SR) dBm: launch min less channel loss, no limit."""
    for name, printed in (("10GBASE-LR", -14.4), ("10GBASE-SR", -9.9)):
        spec = by_name(name)
        assert spec.launch_min is not None
        assert spec.insertion_loss is not None
        assert (spec.launch_min - spec.insertion_loss).value == pytest.approx(printed)
        assert spec.sensitivity is None
        assert receiver_limits(spec).sensitivity != Dbm(printed)


class TestMisprints:
    """Where a source is wrong, so that nobody 'corrects' the table to it."""

    def test_er_average_minimum_is_printed_0_2_db_lower_than_its_arithmetic(self) -> None:
        """A switch maker's manual prints -15.8 dBm; -4.7 - 10.9 is -15.6."""
        spec = by_name("10GBASE-ER")
        assert spec.launch_min is not None
        assert spec.insertion_loss is not None
        assert (spec.launch_min - spec.insertion_loss).value == pytest.approx(-15.6)

    def test_bx10_receives_20_not_19_5(self) -> None:
        """A 2010 answer prints -19.5 dBm, which would make 10.5 dB of the stated 11.0."""
        spec = by_name("1000BASE-BX10-U")
        assert spec.sensitivity == Dbm(-20)
        assert spec.power_budget == Db(11.0)

    def test_lx_reaches_5_km_not_10(self) -> None:
        """An equipment maker's page prints 10 000 m with LX powers: a mixture of LX and LX10."""
        assert by_name("1000BASE-LX").reach_m == 5000
        assert by_name("1000BASE-LX10").reach_m == 10000

    def test_fx_is_of_the_1300_nm_kind_not_1350(self) -> None:
        assert by_name("100BASE-FX").wavelength_nm == 1300

    def test_lrm_figures_are_oma_and_stressed_not_average(self) -> None:
        """A public page lists 'sensitivity -6.5, saturation +1.5' as if average."""
        limits = receiver_limits(by_name("10GBASE-LRM"))
        assert limits.sensitivity is None
        assert limits.overload is None
        assert "stressed OMA" in limits.source

    def test_a_single_mode_page_copies_the_multimode_note_wrongly(self) -> None:
        """0.031 mW OMA at 9 dB is -17.0 dBm; its twin prints -17 beside 0.015 mW: -20.15."""
        right = average_from_oma(milliwatt(0.031), extinction_ratio=Db(9))
        wrong = average_from_oma(milliwatt(0.015), extinction_ratio=Db(9))
        assert right.value == pytest.approx(-16.997, abs=5e-4)
        assert wrong.value == pytest.approx(-20.15, abs=5e-3)


def milliwatt(value: float) -> Dbm:
    from strandkeeper.optics.units import Milliwatt

    return Milliwatt(value).to_dbm()


@pytest.mark.parametrize(
    ("ratio_db", "average"),
    [
        pytest.param(3.5, -11.44, id="ER 3.5 dB, computed from FC-PI's formula"),
        pytest.param(6.0, -13.38, id="ER 6 dB, computed"),
        pytest.param(200.0, -15.61, id="ER without end, computed"),
    ],
)
def test_oma_sensitivity_of_lr_as_average(ratio_db: float, average: float) -> None:
    found = average_from_oma(Dbm(-12.6), extinction_ratio=Db(ratio_db))
    assert found.value == pytest.approx(average, abs=5e-3)
    back = oma_from_average(found, extinction_ratio=Db(ratio_db))
    assert back.value == pytest.approx(-12.6)


def test_an_extinction_ratio_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match=r"extinction ratio of 0\.00 dB is none"):
        average_from_oma(Dbm(0), extinction_ratio=Db(0))


def test_limits_of_an_oma_class_say_that_they_are_a_conversion() -> None:
    limits = receiver_limits(by_name("10GBASE-LR"))
    assert limits.sensitivity is not None
    assert limits.sensitivity.value == pytest.approx(-11.44, abs=5e-3)
    assert "stated as −12.6 dBm OMA, taken as −11.4 dBm average" in limits.source
    assert "3.5 dB (the class's lowest)" in limits.source


def test_a_known_extinction_ratio_outranks_the_lowest_of_the_class() -> None:
    limits = receiver_limits(by_name("10GBASE-LR"), extinction_ratio=Db(6))
    assert limits.sensitivity is not None
    assert limits.sensitivity.value == pytest.approx(-13.38, abs=5e-3)
    assert "6.0 dB (given)" in limits.source


@pytest.mark.parametrize(
    ("name", "expected"),
    [("1000BASE-LX10", True), ("10GBASE-LR", True), ("1000BASE-ZX", False), ("10GBASE-ER", False)],
)
def test_overload_needs_errors_where_the_strongest_transmitter_only_just_reaches_it(
    name: str, expected: bool
) -> None:
    assert receiver_limits(by_name(name)).overload_needs_errors is expected


@pytest.mark.parametrize(
    "text", ["1000BASE-LX10", "1000base-lx10", "1000BASE LX10", "1000baselx10", " 1000Base-LX-10 "]
)
def test_names_are_found_however_they_are_written(text: str) -> None:
    assert by_name(text).name == "1000BASE-LX10"


def test_a_name_that_is_none_lists_the_nearest() -> None:
    with pytest.raises(InputError) as caught:
        by_name("1000BASE-LX01")
    assert str(caught.value) == (
        "there is no module type '1000BASE-LX01'\n"
        "  nearest: 1000BASE-LX70, 1000BASE-LX10, 1000BASE-LX, 100BASE-LX10; or give launch power, "
        "sensitivity and overload from the data sheet"
    )


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("1000BASE-BX10", "say -D or -U"),
        ("1000BASE-PX20", "say -D or -U"),
        ("1000BASE-LH", "say which of the two"),
    ],
)
def test_a_name_that_means_two_things_is_not_guessed(text: str, hint: str) -> None:
    with pytest.raises(InputError, match="is not clear") as caught:
        by_name(text)
    assert hint in caught.value.hint


def test_a_single_strand_class_knows_its_counterpart() -> None:
    assert by_name("1000BASE-BX10-D").partner == "1000BASE-BX10-U"
    assert by_name("1000BASE-BX10-U").partner == "1000BASE-BX10-D"
    assert by_name("1000BASE-LX10").partner == "1000BASE-LX10"


@EVERY
def test_every_counterpart_exists_and_sends_another_wavelength(spec: PmdSpec) -> None:
    other = by_name(spec.partner)
    assert other.partner == spec.name
    if spec.single_strand:
        assert other.wavelength_nm != spec.wavelength_nm


@pytest.mark.parametrize(
    ("arc", "name"),
    [(24, "1000BASE-LX"), (49, "1000BASE-LX10"), (39, "10GBASE-LR"), (93, "25GBASE-SR")],
)
def test_the_switchs_own_word_is_looked_up(arc: int, name: str) -> None:
    found = by_mau_type(arc)
    assert found is not None
    assert found.name == name


@pytest.mark.parametrize("arc", [0, 16, 22, 30, 33, 54, 9999])
def test_copper_and_unknown_mau_types_name_no_optic(arc: int) -> None:
    """16 100BASE-TX, 22 1000BASE-X, 30 1000BASE-T, 33 10GBASE-R, 54 10GBASE-T (IANA-MAU-MIB)."""
    assert by_mau_type(arc) is None


def test_tags_reach_the_user() -> None:
    assert by_name("1000BASE-SX").tag is Tag.STANDARD
    assert by_name("1000BASE-LX10").tag is Tag.MEMORY
    assert by_name("1000BASE-ZX").tag is Tag.PRACTICE
    assert "from memory, unconfirmed" in receiver_limits(by_name("1000BASE-LX10")).source
    assert "common practice, no source" in receiver_limits(by_name("1000BASE-ZX")).source
    assert by_name("1000BASE-LX").tag_of("insertion_loss") is Tag.MEMORY
    assert by_name("1000BASE-LX").tag_of("sensitivity") is Tag.STANDARD
