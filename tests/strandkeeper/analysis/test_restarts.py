"""What is a restart. Source: RFC 3418, sysUpTime, TimeTicks of 32 bits (497 days)."""

from __future__ import annotations

import pytest

from strandkeeper.analysis import engine
from strandkeeper.model.block import Block
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import End, LinkName
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.model.verdict import EventKind

FACTS = LinkFacts(name=LinkName("shore"))
T0 = 1_800_000_000_000
WRAP_CS = 1 << 32


def _restarts(*polls: tuple[int, int]) -> int:
    """Restarts found in polls given as (second of the record, sysUpTime in 0.01 s)."""
    rows = [
        EndRow(time_ms=T0 + s * 1000, end=End.B, oper=OperStatus.UP, uptime_cs=up)
        for s, up in polls
    ]
    together, split = engine.initial(FACTS), engine.initial(FACTS)
    _, evaluation = engine.advance(FACTS, together, Block.from_rows(rows))
    found = sum(e.kind is EventKind.RESTARTED for e in evaluation.events)
    one_by_one = 0
    for row in rows:
        split, step = engine.advance(FACTS, split, Block.from_rows((row,)))
        one_by_one += sum(e.kind is EventKind.RESTARTED for e in step.events)
    assert one_by_one == found
    return found


@pytest.mark.parametrize(
    ("polls", "restarts"),
    [
        pytest.param([(0, 500_000), (10, 501_000), (20, 502_000)], 0, id="time goes on"),
        pytest.param([(0, 4_800), (10, 500), (20, 1_500)], 1, id="again within its first minute"),
        pytest.param([(0, 500_000), (10, 300)], 1, id="uptime ran back"),
        pytest.param([(0, 3_000), (3_600, 300_000)], 1, id="silent, began anew, older than before"),
        pytest.param([(0, 500_000), (3_610, 501_000)], 0, id="the record was set ahead an hour"),
        pytest.param(
            [(0, WRAP_CS - 500), (10, 500)], 0, id="497 days are over and sysUpTime wraps"
        ),
        pytest.param(
            [(0, 90_000_000), (10, 90_000_940), (20, 90_002_030)], 0, id="an agent's clock jitters"
        ),
    ],
)
def test_restarts_are_told_from_what_only_looks_like_them(
    polls: list[tuple[int, int]], restarts: int
) -> None:
    assert _restarts(*polls) == restarts
