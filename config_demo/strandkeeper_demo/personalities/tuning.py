"""The invented switches that readers and surveys are tried on while they are being written."""

from __future__ import annotations

from typing import Final

from strandkeeper_demo.personalities.personality import Personality
from strandkeeper_demo.personalities.tuning_numbers import NUMBERS
from strandkeeper_demo.personalities.tuning_odd import ODD
from strandkeeper_demo.personalities.tuning_texts import TEXTS

__all__ = ["TUNING"]

# The order makes the pairs: first with second, third with fourth, and so on.
TUNING: Final[tuple[Personality, ...]] = (*NUMBERS, *TEXTS, *ODD)
