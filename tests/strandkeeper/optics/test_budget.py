"""Loss and power budgets against published worked examples, each beside its source."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from strandkeeper.errors import InputError
from strandkeeper.optics.budget import CableFigures, LossBudget, loss_budget
from strandkeeper.optics.budget_words import verdict_sentences
from strandkeeper.optics.fibre import attenuation, fibre_name
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.power_budget import (
    BudgetVerdict,
    PowerBudget,
    Receiver,
    Sender,
    power_budget,
    receiver_of,
    sender_of,
)
from strandkeeper.optics.units import Db, Dbm


def own(db_km: float, mating: float, splice: float = 0.0) -> CableFigures:
    return CableFigures(attenuation_db_km=Db(db_km), mating=Db(mating), splice=Db(splice))


def between(launch: float, sensitivity: float, loss: LossBudget, **rest: Db) -> PowerBudget:
    sender = Sender(
        launch_min=Dbm(launch), launch_max=Dbm(launch), wavelength_nm=1310, source="example"
    )
    receiver = Receiver(sensitivity=Dbm(sensitivity), overload=None, source="example")
    return power_budget(sender, receiver, loss, **rest)


def test_lan_link_of_keiser_2004_table_16_2_with_its_running_margins() -> None:
    """LED -20, pin -32: 12 dB; 0.7 -> 11.3; 2 · 0.7 -> 9.9; 160 m of 2.5 dB/km -> 9.5; -> 8.8."""
    running = [
        (0, 1, 11.3),
        (0, 3, 9.9),
        (160, 3, 9.5),
        (160, 4, 8.8),
    ]
    assert between(-20, -32, lan(0, 0)).margin == Db(12.0)
    for length, connectors, margin in running:
        found = between(-20, -32, lan(length, connectors)).margin
        assert found is not None
        assert found.value == pytest.approx(margin)


def lan(length_m: float, connectors: int) -> LossBudget:
    return loss_budget(
        length_m=length_m, wavelength_nm=1310, matings=connectors, figures=own(2.5, 0.7)
    )


def test_gigabit_link_of_introduction_to_information_optics_table_12_3() -> None:
    """-8 dBm, -22 dBm, margin 6, connectors 2, 0.6 dB/km: 10 km at the most."""
    loss = loss_budget(
        length_m=10_000, wavelength_nm=1310, matings=0, extra=Db(2), figures=own(0.6, 0)
    )
    found = between(-8, -22, loss).margin
    assert found is not None
    assert found.value == pytest.approx(6.0)


def test_single_mode_8_km_of_a_router_makers_guide() -> None:
    """13 dB - 8 · 0.5 - 7 · 0.5 = 5.5 dB."""
    loss = loss_budget(length_m=8000, wavelength_nm=1310, matings=7, figures=own(0.5, 0.5))
    assert between(-15, -28, loss).margin == Db(5.5)


def test_overload_example_of_a_switch_makers_guide() -> None:
    """70 km class: +4 - (-3) = 7 dB at least; met by 32 km of 0.25 dB/km (8 dB)."""
    spec = by_name("1000BASE-LX70")
    near = power_budget(
        sender_of(spec), receiver_of(spec), loss_budget(length_m=0, wavelength_nm=1550, matings=0)
    )
    assert near.attenuator == Db(7.0)
    assert near.verdicts == (BudgetVerdict.NEEDS_ATTENUATOR,)
    far = power_budget(
        sender_of(spec),
        receiver_of(spec),
        loss_budget(length_m=32_000, wavelength_nm=1550, matings=0, figures=own(0.25, 0)),
    )
    assert far.attenuator == Db(0.0)
    assert far.headroom == Db(1.0)
    assert far.verdicts == (BudgetVerdict.FITS,)


@pytest.mark.parametrize(
    ("fibre", "wavelength", "km", "connector", "typical", "limit"),
    [
        pytest.param("OM1", 850, (3, 3.5), (0.3, 0.75), 7.8, 11.05, id="E8 MM 850"),
        pytest.param("OM1", 1300, (1, 1.5), (0.3, 0.75), 3.8, 7.05, id="E8 MM 1300"),
        pytest.param("G.652.D", 1310, (0.4, 1.0), (0.3, 0.75), 2.6, 6.05, id="E8 SM 1310"),
        pytest.param("G.652.D", 1550, (0.3, 0.5), (0.3, 0.75), 2.4, 5.05, id="E8 SM 1550"),
    ],
)
def test_trade_associations_example(
    fibre: str,
    wavelength: int,
    km: tuple[float, float],
    connector: tuple[float, float],
    typical: float,
    limit: float,
) -> None:
    """2 km, 5 connections, 1 splice of 0.3 dB; from memory, each row re-added by hand."""
    for per_km, each, wanted in zip(km, connector, (typical, limit), strict=True):
        found = loss_budget(
            length_m=2000,
            wavelength_nm=wavelength,
            fibre=fibre,
            matings=5,
            splices=1,
            figures=own(per_km, each, 0.3),
        )
        assert found.expected.value == pytest.approx(wanted)


def test_trade_associations_margin() -> None:
    """Same source: Tx -16, sensitivity -31: 15 dB; link 3.8 -> 11.2; 7.05 -> 7.95."""
    for loss, margin in ((3.8, 11.2), (7.05, 7.95)):
        found = between(
            -16,
            -31,
            loss_budget(length_m=0, wavelength_nm=1310, matings=0, extra=Db(loss)),
        ).margin
        assert found is not None
        assert found.value == pytest.approx(margin)


def test_keiser_example_8_1() -> None:
    """LED -13, pin -42: 29 dB = 2 · 1 + 3.5 · L + 6 dB: L = 6.0 km (from memory, cross-checked)."""
    loss = loss_budget(
        length_m=6000, wavelength_nm=850, fibre="OM1", matings=2, figures=own(3.5, 1.0)
    )
    found = between(-13, -42, loss).margin
    assert found is not None
    assert found.value == pytest.approx(6.0)


def test_keiser_example_8_2() -> None:
    """+3, -32: 35 - 1 - (3 + 1) - 60 · 0.3 - (3 + 1) - 1 = 7 dB (from memory, cross-checked)."""
    loss = loss_budget(
        length_m=60_000,
        wavelength_nm=1550,
        matings=2,
        extra=Db(3 + 3),
        extra_note="two cable assemblies",
        figures=own(0.3, 1.0),
    )
    found = between(3, -32, loss, penalties=Db(2)).margin
    assert found is not None
    assert found.value == pytest.approx(7.0)


@pytest.mark.parametrize(
    ("tx_min", "attenuation_max", "sensitivity"),
    [
        pytest.param(-15, 12, -28, id="ITU-T G.957 155 Mb/s S-1.1"),
        pytest.param(-5, 28, -34, id="ITU-T G.957 155 Mb/s L-1.1"),
        pytest.param(-2, 24, -27, id="ITU-T G.957 2.5 Gb/s L"),
    ],
)
def test_windows_of_g_957(tx_min: float, attenuation_max: float, sensitivity: float) -> None:
    """Tx min - attenuation max - 1 dB penalty = sensitivity, as Keiser 2004 table 17.4 has them.

    The book prints the ranges without their minus signs.
    """
    loss = loss_budget(length_m=0, wavelength_nm=1310, matings=0, extra=Db(attenuation_max))
    assert between(tx_min, sensitivity, loss, penalties=Db(1)).margin == Db(0.0)


def test_rule_of_thumb_a_short_good_link_measures_under_two() -> None:
    """Common practice, no source: 0.8 km at 1310 nm, one pair at each end: limit 1.8 dB."""
    found = loss_budget(length_m=800, wavelength_nm=1310)
    assert round(found.limit.value, 1) == 1.8
    assert found.expected < found.limit < Db(2.0)


def test_rule_of_thumb_0_dbm_at_the_receiver_is_too_much_for_most() -> None:
    """Common practice, no source: whoever aims for 0 dBm overloads most receivers."""
    from strandkeeper.optics.pmd import all_pmds

    overloads = [s.overload for s in all_pmds() if s.overload is not None]
    overloaded = [o for o in overloads if o < Dbm(0)]
    assert len(overloaded) > len(overloads) * 0.8


def test_er_over_a_short_cable_needs_5_db() -> None:
    """+4.0 - (-1.0) = 5 dB, clause 52."""
    spec = by_name("10GBASE-ER")
    found = power_budget(
        sender_of(spec), receiver_of(spec), loss_budget(length_m=10, wavelength_nm=1550)
    )
    assert verdict_sentences(found)[0].startswith(
        "needs an attenuator of at least 5 dB at the receiver: the strongest transmitter would"
        " overload it"
    )


def test_an_attenuator_that_is_there_is_counted() -> None:
    spec = by_name("10GBASE-ER")
    found = power_budget(
        sender_of(spec),
        receiver_of(spec),
        loss_budget(length_m=10, wavelength_nm=1550, extra=Db(5), extra_note="attenuator"),
    )
    assert BudgetVerdict.NEEDS_ATTENUATOR not in found.verdicts


def test_gigabit_long_reach_back_to_back_needs_none() -> None:
    """LX10: launch max = receive max = -3 dBm: a patch cord is legal."""
    spec = by_name("1000BASE-LX10")
    loss = loss_budget(length_m=0, wavelength_nm=1310, matings=0)
    found = power_budget(sender_of(spec), receiver_of(spec), loss)
    assert found.attenuator == Db(0.0)
    assert found.verdicts == (BudgetVerdict.FITS,)


def test_verdicts_in_words() -> None:
    weak = between(-20, -22, loss_budget(length_m=10_000, wavelength_nm=1310))
    assert verdict_sentences(weak)[0] == (
        "does not fit: in the worst case 3.5 dB of light are missing"
    )
    short = between(-10, -12, loss_budget(length_m=0, wavelength_nm=1310, matings=0))
    assert verdict_sentences(short)[0].startswith(
        "works, but in the worst case only 2.0 dB are to spare where 3.0 dB should be kept"
    )


def test_what_is_not_known_is_said_to_be_unknown() -> None:
    spec = by_name("25GBASE-LR")
    found = power_budget(
        sender_of(spec), receiver_of(spec), loss_budget(length_m=900, wavelength_nm=1310)
    )
    assert found.margin is None
    assert found.headroom is None
    assert found.verdicts == (BudgetVerdict.UNKNOWN_WEAK, BudgetVerdict.UNKNOWN_STRONG)
    assert all("cannot be told" in sentence for sentence in verdict_sentences(found))


@given(
    st.floats(0, 100_000),
    st.integers(0, 20),
    st.integers(0, 20),
    st.floats(0, 30),
)
def test_the_loss_is_the_sum_of_its_parts(
    length: float, matings: int, splices: int, extra: float
) -> None:
    whole = loss_budget(
        length_m=length, wavelength_nm=1310, matings=matings, splices=splices, extra=Db(extra)
    )
    parts = [
        loss_budget(length_m=length, wavelength_nm=1310, matings=0),
        loss_budget(length_m=0, wavelength_nm=1310, matings=matings),
        loss_budget(length_m=0, wavelength_nm=1310, matings=0, splices=splices),
        loss_budget(length_m=0, wavelength_nm=1310, matings=0, extra=Db(extra)),
    ]
    for order in itertools.permutations(parts, 4):
        assert whole.limit.value == pytest.approx(sum(p.limit.value for p in order))
        assert whole.expected.value == pytest.approx(sum(p.expected.value for p in order))
    assert whole.expected.value <= whole.limit.value + 1e-12


@given(st.floats(0, 50_000), st.floats(0, 50_000))
def test_two_pieces_of_cable_lose_what_one_of_both_lengths_does(a: float, b: float) -> None:
    def bare(length: float) -> float:
        return loss_budget(length_m=length, wavelength_nm=1550, matings=0).limit.value

    assert bare(a) + bare(b) == pytest.approx(bare(a + b))


@given(st.floats(0, 40), st.floats(0, 10))
def test_more_loss_is_less_margin_and_never_less_headroom(loss: float, more: float) -> None:
    spec = by_name("1000BASE-ZX")

    def at(extra: float) -> PowerBudget:
        cable = loss_budget(length_m=0, wavelength_nm=1550, matings=0, extra=Db(extra))
        return power_budget(sender_of(spec), receiver_of(spec), cable)

    less, greater = at(loss), at(loss + more)
    assert less.margin is not None
    assert greater.margin is not None
    assert less.headroom is not None
    assert greater.headroom is not None
    assert greater.margin <= less.margin
    assert greater.headroom >= less.headroom


@pytest.mark.parametrize(
    ("given_figures", "message"),
    [
        ({"length_m": -1.0}, "the length is -1.0"),
        ({"length_m": float("nan")}, "the length is nan"),
        ({"length_m": 1.0, "matings": -1}, "the matings is -1"),
        ({"length_m": 1.0, "fibre": "G.999"}, "there is no fibre 'G.999'"),
        ({"length_m": 1.0, "fibre": "MMF"}, "the fibre 'MMF' is not clear"),
        ({"length_m": 1.0, "wavelength_nm": 850}, "nothing is known of G.652.D fibre at 850 nm"),
    ],
)
def test_figures_that_cannot_be_are_refused(given_figures: dict[str, object], message: str) -> None:
    arguments: dict[str, object] = {"wavelength_nm": 1310, **given_figures}
    with pytest.raises(InputError, match=message):
        loss_budget(**arguments)  # type: ignore[arg-type]


def test_names_of_fibres_as_people_write_them() -> None:
    for text in ("g652d", "SMF", "single-mode", "9/125", "G.652"):
        assert fibre_name(text) == "G.652.D"
    assert fibre_name("om 3") == "OM3"
    assert fibre_name("g.657") == "G.657.A1"


def test_both_edges_of_a_band_belong_to_it() -> None:
    """G.652.D: 0.30 dB/km at 1530 to 1565 nm, 0.40 elsewhere."""
    assert [attenuation("G.652.D", nm).limit_db_km for nm in (1529, 1530, 1565, 1566)] == [
        0.40,
        0.30,
        0.30,
        0.40,
    ]


def test_the_source_of_a_limit_reaches_the_user() -> None:
    found = loss_budget(length_m=900, wavelength_nm=1310)
    assert found.source == (
        "limit: ITU-T G.652 table 2 (D); ANSI/TIA-568.3-D (from memory, unconfirmed)"
    )
    sure = loss_budget(length_m=900, wavelength_nm=1310, fibre="G.657.A1")
    assert sure.source == "limit: ITU-T G.657 table 1 (A); ANSI/TIA-568.3-D"
