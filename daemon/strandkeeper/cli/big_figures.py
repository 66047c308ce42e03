"""Figures that are read from two steps away: five rows of blocks; and a line of small bars."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = ["bars", "big"]

# own design: three columns wide, a dot and a sign narrower where they can be
_ROWS: Final[dict[str, str]] = {
    "0": "### #.# #.# #.# ###",
    "1": ".#. ##. .#. .#. ###",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    "-": "... ... ### ... ...",
    "+": "... .#. ### .#. ...",
    ".": ". . . . #",
    " ": ". . . . .",
    "?": "### ..# .#. ... .#.",
}
_BARS: Final = "▁▂▃▄▅▆▇█"


def big(text: str) -> list[str]:
    """Five lines; each pixel is two characters wide, so that it looks square.

    >>> big("1")[0]
    '  ██  '
    """
    glyphs = [_ROWS.get(c, _ROWS["?"]).split() for c in text.replace("−", "-")]
    lines = []
    for row in range(5):
        pixels = ".".join(glyph[row] for glyph in glyphs)
        lines.append("".join("██" if pixel == "#" else "  " for pixel in pixels))
    return lines


def bars(values: Sequence[float | None]) -> str:
    """One character a value, the least low and the greatest high; a gap where it was dark.

    >>> bars([1.0, None, 2.0])
    '▁ █'
    """
    known = [v for v in values if v is not None]
    if not known:
        return " " * len(values)
    low, span = min(known), max(max(known) - min(known), 0.5)
    top = len(_BARS) - 1
    return "".join(
        " " if v is None else _BARS[min(top, round((v - low) / span * top))] for v in values
    )
