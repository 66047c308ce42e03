"""Which limit a direction is judged by. Figures: the clauses named in optics/pmd_table."""

from __future__ import annotations

from strandkeeper.jobs.facts import link_facts, receiver_limits_of
from strandkeeper.model.link import LimitOrigin, Link, PortEnd
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.optics.units import Dbm

LX = 24  # dot3MauType1000BaseLXFD, IANA-MAU-MIB


def _settings() -> Settings:
    return Settings(station="s", switches=(), links=(), store=StoreSettings(path="x"))


def _link(a: PortEnd, b: PortEnd) -> Link:
    return Link(name=LinkName("l"), a=a, b=b, length_m=900)


def test_the_direction_is_limited_by_its_receivers_module() -> None:
    link = _link(PortEnd(name="A", pmd="1000BASE-LX"), PortEnd(name="B", pmd="1000BASE-SX"))
    facts = link_facts(link, _settings())
    assert facts.ab.limits.sensitivity == Dbm(-17.0)  # IEEE 802.3 Table 38-4, 1000BASE-SX
    assert facts.ba.limits.sensitivity == Dbm(-19.0)  # IEEE 802.3 38.4, 1000BASE-LX


def test_the_owners_figure_comes_before_the_named_class_and_both_are_said() -> None:
    end = PortEnd(name="B", pmd="1000BASE-LX", sensitivity=Dbm(-23.0))
    limits = receiver_limits_of(end)
    assert (limits.sensitivity, limits.overload) == (Dbm(-23.0), Dbm(-3.0))
    assert limits.origin is LimitOrigin.OWNER
    assert limits.source.startswith(
        "sensitivity: your figure from the data sheet; overload: 1000BASE-LX, IEEE 802.3 clause 38"
    )


def test_a_module_the_switch_names_gives_limits_where_none_are_configured() -> None:
    link = _link(PortEnd(name="A"), PortEnd(name="B"))
    facts = link_facts(link, _settings(), {End.B: LX})
    assert facts.ab.limits.origin is LimitOrigin.PMD_RECOGNISED
    assert facts.ab.limits.sensitivity == Dbm(-19.0)
    assert facts.ba.limits.origin is LimitOrigin.UNKNOWN
    assert facts.ba.limits.sensitivity is None


def test_what_is_not_known_is_unknown_and_says_what_to_give() -> None:
    limits = receiver_limits_of(PortEnd(name="B"))
    assert limits.sensitivity is None
    assert limits.source == "unknown: name the module type or its sensitivity"


def test_the_plan_is_made_for_the_senders_wavelength() -> None:
    link = _link(PortEnd(name="A", pmd="1000BASE-BX10-D"), PortEnd(name="B", pmd="1000BASE-BX10-U"))
    facts = link_facts(link, _settings())
    assert (facts.ab.wavelength_nm, facts.ba.wavelength_nm) == (1490, 1310)
    assert facts.ab.planned is not None
    # 0.9 km × 0.40 dB/km (ITU-T G.652.D) or 0.5 (TIA-568.3-D OSP) + 2 × 0.75 dB
    assert 1.8 <= facts.ab.planned.limit.value <= 2.0
