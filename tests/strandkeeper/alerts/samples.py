"""A link with two named ends, and findings on it."""

from __future__ import annotations

from typing import Any

from strandkeeper.model.finding import Finding, FindingKind, Severity
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.model.power import Measured
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict, Trend
from strandkeeper.optics.units import Db, Dbm

LINK = Link(
    name=LinkName("Shore link"),
    a=PortEnd(name="Lab", switch=SwitchName("lab-switch"), port=PortName("Gi1")),
    b=PortEnd(name="Pump house", switch=SwitchName("pump-switch"), port=PortName("Gi1")),
    strand_ab="blue",
    strand_ba="orange",
    near=End.A,
)


def finding(kind: FindingKind, **more: Any) -> Finding:
    """A warning of that kind on the direction from the lab, unless said otherwise."""
    given: dict[str, Any] = {"severity": Severity.WARNING, "direction": Direction.AB, "since_ms": 0}
    return Finding(link=LINK.name, kind=kind, **{**given, **more})


def direction(which: Direction, margin: float | None, **more: Any) -> DirectionVerdict:
    """A direction that receives light and is steady."""
    given: dict[str, Any] = {"rx": Measured(Dbm(-11.0)), "trend": Trend.STEADY}
    return DirectionVerdict(
        direction=which, margin=None if margin is None else Db(margin), **{**given, **more}
    )


def verdict(*findings: Finding, **more: Any) -> LinkVerdict:
    """A link that is up with 9 dB to spare one way and 12 the other."""
    given: dict[str, Any] = {
        "up": True,
        "ab": direction(Direction.AB, 9.7),
        "ba": direction(Direction.BA, 12.2),
    }
    return LinkVerdict(
        link=LINK.name,
        at_ms=0,
        a=EndState(end=End.A),
        b=EndState(end=End.B),
        findings=findings,
        **{**given, **more},
    )
