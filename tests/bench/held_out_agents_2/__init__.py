"""A second set of invented switches, written by another hand without a look at the method.

It was held out until identification was judged by it once; now it is learned from, as `seen-2`.
"""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_2.by_port import BY_PORT
from tests.bench.held_out_agents_2.in_words import IN_WORDS
from tests.bench.held_out_agents_2.lanes import LANES
from tests.bench.held_out_agents_2.more_by_port import MORE_BY_PORT
from tests.bench.held_out_agents_2.row_each import ROW_EACH, ROW_EACH_LANES
from tests.bench.held_out_agents_2.without import WITHOUT, WITHOUT_BUT_JOINED

from strandkeeper_demo.personalities.personality import Personality

__all__ = ["HELD_OUT_2"]

# The order makes the pairs: first with second, third with fourth, and so on.
HELD_OUT_2: Final[tuple[Personality, ...]] = (
    *LANES,
    *ROW_EACH_LANES,
    *WITHOUT_BUT_JOINED,
    *BY_PORT,
    *MORE_BY_PORT,
    *WITHOUT,
    *IN_WORDS,
    *ROW_EACH,
)
