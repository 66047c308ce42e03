"""Parts that do not fit together, by what the owner and the switches say of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.finding import Cause, Confidence, EvidenceKind, FindingKind, Severity
from strandkeeper.model.link import Link, LinkFacts, Misfit, PortEnd
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.settings import Settings, StoreSettings

# IANA-MAU-MIB: dot3MauType1000BaseSXFD(26), dot3MauType1000BaseLXFD(24)
SX, LX = 26, 24


def link_of(pmd_a: str | None, pmd_b: str | None, strands: int = 2) -> Link:
    """A link with these module types."""
    ends = [
        PortEnd(name=name, switch=SwitchName(name), port=PortName("1"), pmd=pmd)
        for name, pmd in (("Lab", pmd_a), ("Jetty", pmd_b))
    ]
    return Link(name=LinkName("jetty"), a=ends[0], b=ends[1], strands=strands)


def misfits_of(link: Link, types: dict[End, int | None] | None = None) -> tuple[Misfit, ...]:
    """What the facts say of it."""
    settings = Settings(
        station="Hut", switches=(), links=(link,), store=StoreSettings(path=Path("record.db"))
    )
    return link_facts(link, settings, types).misfits


@pytest.mark.parametrize(
    ("pmd_a", "pmd_b", "strands", "word"),
    [
        ("1000BASE-SX", "1000BASE-SX", 2, "multimode"),
        ("1000BASE-BX10-D", "1000BASE-BX10-D", 1, "two like single-strand modules"),
        ("1000BASE-LX10", "10GBASE-LR", 2, "never link"),
    ],
)
def test_a_wrong_part_that_the_owner_named_is_certain(
    pmd_a: str, pmd_b: str, strands: int, word: str
) -> None:
    found = misfits_of(link_of(pmd_a, pmd_b, strands))
    assert any(word in misfit.sentence and misfit.certain for misfit in found)


@pytest.mark.parametrize(
    ("pmd_a", "pmd_b", "strands"),
    [
        ("1000BASE-LX10", "1000BASE-LX10", 2),
        ("1000BASE-BX10-D", "1000BASE-BX10-U", 1),
        (None, None, 2),
    ],
)
def test_parts_that_fit_or_are_not_known_make_no_finding(
    pmd_a: str | None, pmd_b: str | None, strands: int
) -> None:
    assert misfits_of(link_of(pmd_a, pmd_b, strands)) == ()


def test_a_module_that_its_switch_calls_multimode_is_likely_the_wrong_part() -> None:
    (found,) = misfits_of(link_of("1000BASE-LX10", "1000BASE-LX10"), {End.A: SX, End.B: LX})
    assert "Lab" in found.sentence
    assert not found.certain


@pytest.mark.parametrize(
    ("sure", "confidence", "severity"),
    [(True, Confidence.CERTAIN, Severity.WARNING), (False, Confidence.LIKELY, Severity.NOTE)],
)
def test_the_finding_names_the_part_and_says_to_replace_it(
    watch: Callable[..., object], sure: bool, confidence: Confidence, severity: Severity
) -> None:
    misfit = Misfit(sentence="Lab: a multimode module on single-mode cable", certain=sure)
    link = watch(LinkFacts(name=LinkName("jetty"), misfits=(misfit,)))
    link.run(12)  # type: ignore[attr-defined]
    found = link.finding(FindingKind.WRONG_PART)  # type: ignore[attr-defined]
    assert (found.cause, found.confidence) == (Cause.WRONG_PART, confidence)
    assert found.severity is severity
    assert [item.text for item in found.evidence] == [misfit.sentence]
    assert found.evidence[0].kind is EvidenceKind.MISFIT


def test_a_link_that_never_came_up_with_a_misfit_is_put_down_to_it(
    watch: Callable[..., object],
) -> None:
    facts = LinkFacts(name=LinkName("jetty"), misfits=(Misfit(sentence="two speeds"),))
    link = watch(facts, up=[False, False])
    link.run(12)  # type: ignore[attr-defined]
    assert link.finding(FindingKind.LINK_DOWN).cause is Cause.WRONG_PART  # type: ignore[attr-defined]
    assert link.finding(FindingKind.WRONG_PART).severity is Severity.URGENT  # type: ignore[attr-defined]
