"""Tables written by hand for identification: figures a person can check, at several polls."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from strandkeeper.model.oid import Oid, Value
from strandkeeper.optics.pmd import by_name
from strandkeeper.readers.identify import Observations, PortSeen

ENTRY = (1, 3, 6, 1, 4, 1, 32473, 7, 1, 1)
LX10 = by_name("1000BASE-LX10")

# °C ×10, mV, µA, 0.01 dBm sent and received of four ports; the last has no light
ROWS = {
    5: (352, 3301, 17120, -589, -1012),
    6: (371, 3295, 16240, -634, -1377),
    7: (366, 3310, 18060, -551, -856),
    8: (341, 3289, 15980, -602, -4000),
}


def ports(*, down: Sequence[int] = (8,)) -> tuple[PortSeen, ...]:
    """Four copper ports and four for modules."""
    return tuple(
        PortSeen(
            if_index=n,
            name=f"Gi{n}",
            position=n,
            up=n not in down,
            optical=n > 4,
            spec=LX10 if n > 4 else None,
            speed_mbps=1000,
        )
        for n in range(1, 9)
    )


def leaves(
    rows: Mapping[int, Sequence[Value]], arcs: Sequence[int] = (2, 3, 4, 5, 6)
) -> dict[Oid, Value]:
    """One column an arc, one row a port."""
    return {
        (*ENTRY, arc, row): value
        for row, values in rows.items()
        for arc, value in zip(arcs, values, strict=True)
    }


def moved(rows: Mapping[int, Sequence[int]], turn: int) -> dict[int, tuple[int, ...]]:
    """The same, a little later: all but no light moves by a count, bias by the module's 2 µA."""
    return {
        row: tuple(
            v if v == -4000 else v + ((turn * (row + place)) % 3 - 1) * (2 if place == 2 else 1)
            for place, v in enumerate(values)
        )
        for row, values in rows.items()
    }


def seen(
    rows: Mapping[int, Sequence[int]] = ROWS, arcs: Sequence[int] = (2, 3, 4, 5, 6)
) -> Observations:
    """Five polls of a table in which everything is live."""
    polls = tuple(leaves(moved(rows, turn), arcs) for turn in range(5))
    return Observations(polls=polls, ports=ports())
