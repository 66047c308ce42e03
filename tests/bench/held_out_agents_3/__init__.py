"""A third set of invented switches that identification is scored on once.

Written by another hand without a look at the method. Who works on identification looks at the
score alone and leaves these files closed.
"""

from __future__ import annotations

from typing import Final

from tests.bench.held_out_agents_3.by_port import (
    AGATE,
    ASPEN,
    BASALT,
    COPAL,
    JASPER,
    PUMICE,
    SCHIST,
    SPRUCE,
)
from tests.bench.held_out_agents_3.lanes import GARNET, GRANITE, MARBLE, ONYX
from tests.bench.held_out_agents_3.row_each import ELM, FLINT, LINDEN, OPAL
from tests.bench.held_out_agents_3.without import GNEISS, SHALE, SLATE, TOPAZ
from tests.bench.held_out_agents_3.words import BEECH, CHALK, PINE, QUARTZ, YEW, ZIRCON

from strandkeeper_demo.personalities.personality import Personality

__all__ = ["HELD_OUT_3"]

# The order makes the pairs, each of one class of module: first with second, and so on.
HELD_OUT_3: Final[tuple[Personality, ...]] = (
    *(AGATE, ASPEN),
    *(BEECH, JASPER),
    *(COPAL, ELM),
    *(ONYX, GARNET),
    *(LINDEN, PUMICE),
    *(SCHIST, PINE),
    *(OPAL, SPRUCE),
    *(ZIRCON, YEW),
    *(BASALT, CHALK),
    *(FLINT, GNEISS),
    *(GRANITE, MARBLE),
    *(QUARTZ, SHALE),
    *(SLATE, TOPAZ),
)
