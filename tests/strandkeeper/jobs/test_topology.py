from __future__ import annotations

from strandkeeper.jobs.topology import with_consequences
from strandkeeper.model.finding import Cause, Finding, FindingKind, Severity
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict

SHORE, JETTY, BUOY = LinkName("shore"), LinkName("jetty"), LinkName("buoy")


def _link(name: LinkName, behind: LinkName | None) -> Link:
    return Link(name=name, a=PortEnd(name="a"), b=PortEnd(name="b"), behind=behind)


def _verdict(name: LinkName, *, up: bool, silent: bool) -> LinkVerdict:
    finding = Finding(
        link=name, kind=FindingKind.NO_ANSWER, severity=Severity.WARNING, since_ms=0, end=End.B
    )
    return LinkVerdict(
        link=name,
        at_ms=0,
        up=up,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        ab=DirectionVerdict(direction=Direction.AB),
        ba=DirectionVerdict(direction=Direction.BA),
        findings=(finding,) if silent else (),
    )


LINKS = {SHORE: _link(SHORE, None), JETTY: _link(JETTY, SHORE), BUOY: _link(BUOY, JETTY)}


def test_silence_behind_a_link_that_is_down_is_its_consequence_over_any_number_of_steps() -> None:
    verdicts = {
        SHORE: _verdict(SHORE, up=False, silent=False),
        JETTY: _verdict(JETTY, up=True, silent=True),
        BUOY: _verdict(BUOY, up=True, silent=True),
    }
    after = with_consequences(LINKS, verdicts)
    for name in (JETTY, BUOY):
        (finding,) = after[name].findings
        assert finding.cause is Cause.BEHIND_A_LINK_THAT_IS_DOWN
        assert finding.severity is Severity.NOTE
        assert finding.evidence[-1].text == SHORE


def test_silence_with_a_clear_way_is_left_as_it_was_found() -> None:
    verdicts = {
        SHORE: _verdict(SHORE, up=True, silent=False),
        JETTY: _verdict(JETTY, up=True, silent=True),
    }
    assert with_consequences(LINKS, verdicts) == verdicts


def test_links_that_name_each_other_do_not_loop() -> None:
    links = {SHORE: _link(SHORE, JETTY), JETTY: _link(JETTY, SHORE)}
    verdicts = {n: _verdict(n, up=True, silent=True) for n in links}
    assert with_consequences(links, verdicts) == verdicts
