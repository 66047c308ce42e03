"""Invented switches that identification is scored on, and that nobody looks at while writing it.

Written by another hand, before it. Who works on identification looks at the score alone, at
`strandkeeper_demo.personalities.tuning` for the rest, and leaves these files closed.
"""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents.numbers import LANES, NUMBERS
from tests.bench.held_out_agents.odd_numbers import ODD_NUMBERS
from tests.bench.held_out_agents.words import LANES_IN_WORDS, WORDS

from strandkeeper_demo.personalities.personality import Personality

__all__ = ["HELD_OUT"]

# The order makes the pairs: first with second, third with fourth, and so on.
HELD_OUT: Final[tuple[Personality, ...]] = (
    *LANES,
    *LANES_IN_WORDS,
    *NUMBERS,
    *ODD_NUMBERS,
    *WORDS,
)
