"""Misfits told from module data and the cable's description, and how sure."""

from __future__ import annotations

import pytest
from tests.strandkeeper.optics.pages import a0_page

from strandkeeper.optics.plan import CablePlan, EndPlan, plan_for
from strandkeeper.optics.pmd import by_name
from strandkeeper.optics.recognise import Sureness, from_mau_type, from_module
from strandkeeper.optics.sff8472 import decode_identity
from strandkeeper.optics.wrong_parts import (
    Part,
    WrongPartKind,
    part_from_module,
    part_from_pmd,
    wrong_parts,
)


def module(end: str, **bytes_at: int) -> Part:
    return part_from_module(end, decode_identity(a0_page(**bytes_at)))


def kinds(*args: Part | None, fibre: str | None = None, strands: int | None = None) -> list[str]:
    a, b = args
    return [w.kind.value for w in wrong_parts(a, b, fibre=fibre, strands=strands)]


LX10 = {"b6": 0x02}
SX = {"b6": 0x01, "b14": 0, "b15": 0, "b60": 0x03, "b61": 0x52}
BX_U = {"b6": 0x40}
BX_D = {"b6": 0x40, "b60": 0x05, "b61": 0xD2}
LR = {"b3": 0x20, "b12": 0x67}


def test_a_multimode_module_on_single_mode_cable() -> None:
    found = wrong_parts(module("Lab", **SX), None, fibre="G.652.D")
    assert [w.kind for w in found] == [WrongPartKind.MULTIMODE_ON_SINGLE_MODE]
    assert found[0].sure is Sureness.CERTAIN
    assert found[0].sentence.startswith("Lab: a multimode module on single-mode cable.")


def test_a_single_mode_module_on_multimode_cable() -> None:
    assert kinds(module("Lab", **LX10), None, fibre="OM2") == [
        "single-mode-module-on-multimode-cable"
    ]


def test_two_like_single_strand_modules() -> None:
    found = kinds(module("Lab", **BX_U), module("Jetty", **BX_U), strands=1)
    assert found == ["two-like-single-strand-modules"]
    assert kinds(module("Lab", **BX_U), module("Jetty", **BX_D), strands=1) == []


def test_a_single_strand_module_against_one_for_two() -> None:
    found = kinds(module("Lab", **BX_U), module("Jetty", **LX10))
    assert found == ["single-strand-module-with-duplex"]


def test_a_module_for_one_strand_where_the_link_has_two() -> None:
    assert kinds(module("Lab", **BX_U), None, strands=2) == ["strands-do-not-fit-modules"]


def test_unlike_speeds() -> None:
    found = wrong_parts(module("Lab", **LX10), module("Jetty", **LR))
    assert [w.kind for w in found] == [WrongPartKind.UNLIKE_SPEEDS]
    assert "modules for 1 Gbit/s and 10 Gbit/s never link" in found[0].sentence


def test_unlike_wavelengths() -> None:
    far = part_from_pmd("Jetty", by_name("1000BASE-ZX"))
    assert kinds(module("Lab", **LX10), far) == ["unlike-wavelengths"]


def test_1300_and_1310_nm_are_alike_for_two_strands() -> None:
    a = part_from_pmd("Lab", by_name("100BASE-FX"))
    b = Part(end="Jetty", wavelength_nm=1310, single_strand=False)
    assert kinds(a, b) == []


def test_1270_and_1330_nm_are_a_pair_on_one_strand() -> None:
    d, u = by_name("10GBASE-BR10-D"), by_name("10GBASE-BR10-U")
    assert kinds(part_from_pmd("A", d), part_from_pmd("B", u)) == []
    assert kinds(part_from_pmd("A", d), part_from_pmd("B", d)) == ["two-like-single-strand-modules"]


def test_copper_and_fixed_cables_are_no_optics() -> None:
    assert kinds(module("Lab", b6=0x08), None, fibre="G.652.D") == ["no-optics"]
    assert kinds(module("Lab", b8=0x04), None) == ["no-optics"]


def test_what_is_not_known_accuses_nobody() -> None:
    assert kinds(Part(end="Lab"), Part(end="Jetty"), fibre="G.652.D", strands=2) == []
    assert kinds(None, None, fibre=None, strands=None) == []


def test_parts_that_fit_are_not_accused() -> None:
    found = kinds(module("Lab", **LX10), module("Pump house", **LX10), fibre="G.652.D", strands=2)
    assert found == []


def test_lx_and_lx10_are_told_apart_as_far_as_the_module_allows() -> None:
    assert name_and_sureness(b6=2, b14=5, b15=50) == ("1000BASE-LX", Sureness.CERTAIN)
    assert name_and_sureness(b6=2, b14=10, b15=100) == ("1000BASE-LX10", Sureness.CERTAIN)
    assert name_and_sureness(b6=2, b14=0, b15=0) == ("1000BASE-LX", Sureness.LIKELY)
    assert name_and_sureness(b6=2, b14=20, b15=200) == ("1000BASE-LX10", Sureness.LIKELY)


def name_and_sureness(**bytes_at: int) -> tuple[str, Sureness]:
    found = from_module(decode_identity(a0_page(**bytes_at)))
    assert found.spec is not None
    return found.spec.name, found.sure


@pytest.mark.parametrize(
    ("bytes_at", "name"),
    [
        ({"b6": 0, "b14": 80, "b15": 255, "b60": 0x06, "b61": 0x0E}, "1000BASE-ZX"),
        ({"b6": 2, "b14": 40, "b15": 255}, "1000BASE-EX"),
        ({"b6": 0, "b12": 0x67, "b14": 80, "b15": 255, "b60": 0x06, "b61": 0x0E}, "10GBASE-ZR"),
        ({"b6": 0, "b14": 20, "b15": 200, "b60": 0x05, "b61": 0xD2}, "1000BASE-BX20-D"),
        ({"b6": 0, "b12": 0x67, "b14": 10, "b15": 100, "b60": 0x04, "b61": 0xF6}, "10GBASE-BR10-U"),
        ({"b6": 0, "b14": 10, "b15": 100}, "1000BASE-LX10"),
        ({"b6": 0, "b12": 0xFF, "b66": 0x67, "b36": 0x03}, "25GBASE-LR"),
    ],
)
def test_classes_without_a_bit_of_their_own_are_likely_at_most(
    bytes_at: dict[str, int], name: str
) -> None:
    found, sure = name_and_sureness(**bytes_at)
    assert found == name
    assert sure is (Sureness.CERTAIN if "b36" in bytes_at else Sureness.LIKELY)


def test_a_damaged_page_makes_nothing_certain() -> None:
    page = bytearray(a0_page())
    page[6], page[30] = 0x02, ord("X")
    found = from_module(decode_identity(bytes(page)))
    assert found.sure is Sureness.LIKELY
    assert "damaged or cut short" in found.why


def test_a_switchs_word_is_likely_and_says_where_its_number_is_from() -> None:
    assert from_mau_type(49).sure is Sureness.LIKELY
    assert "from memory" in from_mau_type(93).why
    assert from_mau_type(22).spec is None


def test_a_plan_tells_wrong_parts_and_what_cannot_be_planned() -> None:
    sx = "1000BASE-SX"
    plan = plan_for(
        EndPlan(name="Lab", pmd=sx), EndPlan(name="Jetty", pmd=sx), CablePlan(length_m=900)
    )
    assert plan.ab is None
    assert {w.kind for w in plan.wrong} == {WrongPartKind.MULTIMODE_ON_SINGLE_MODE}
    assert plan.missing[0] == (
        "the 850 nm light of Lab is not for G.652.D fibre: nothing is known of its loss"
    )


@pytest.mark.parametrize(
    ("pmd", "fibre", "length", "beyond"),
    [
        pytest.param("10GBASE-SR", "OM2", 82, False, id="802.3 52 SR 500 MHz·km 82 m"),
        pytest.param("10GBASE-SR", "OM2", 83, True, id="802.3 52 SR 500 MHz·km 83 m"),
        pytest.param("10GBASE-SR", "OM3", 300, False, id="802.3 52 SR 2000 MHz·km"),
        pytest.param("10GBASE-SR", "OM4", 400, False, id="802.3 52 SR OM4 400 m, not 550"),
        pytest.param("10GBASE-SR", "OM4", 401, True, id="802.3 52 SR beyond OM4"),
        pytest.param("1000BASE-SX", "OM1", 275, False, id="802.3 38 SX 200 MHz·km"),
        pytest.param("1000BASE-SX", "OM1", 276, True, id="802.3 38 SX beyond"),
        pytest.param("1000BASE-LX", "G.652.D", 5001, True, id="802.3 38 LX beyond 5 km"),
    ],
)
def test_a_cable_longer_than_the_class_reaches_is_said(
    pmd: str, fibre: str, length: float, beyond: bool
) -> None:
    end = EndPlan(name="Lab", pmd=pmd)
    plan = plan_for(end, end, CablePlan(length_m=length, fibre=fibre))
    assert bool(plan.beyond) is beyond
