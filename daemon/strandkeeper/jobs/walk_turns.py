"""How many switches are walked at a time, so that walks never make the others' polls late.

A walk is two dozen requests one after the other, each the cost of a poll. When a thousand switches
are walked at once, at the start or after the power of a whole site was cut, the polls of those that
are ready would stand in one line with all of that. A walk therefore waits for its turn. A switch
that is slow to answer gives its place up after a second and is walked on beside the others; but not
while it is this process that is slow.
"""

from __future__ import annotations

from strandkeeper.snmp.turns import Turns

__all__ = ["AT_ONCE", "BUSY", "LONGEST_S", "WalkTurns"]

AT_ONCE = 16
LONGEST_S = 1.0
BUSY = 0.5  # of a processor wanted by the loop; usual is a fifth of that


class WalkTurns(Turns):
    """Turns for all the walks of one client."""

    def __init__(self, at_once: int = AT_ONCE, longest_s: float = LONGEST_S) -> None:
        super().__init__(at_once, longest_s, BUSY)
