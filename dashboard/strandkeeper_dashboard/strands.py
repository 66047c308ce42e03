"""The twelve strand colours of TIA-598, recognised in the owner's own labels."""

from __future__ import annotations

from typing import Final

__all__ = ["COLOURS", "strand_colour"]

# ANSI/TIA-598-D, Table 1: the order 1 to 12 (from memory, unconfirmed).
COLOURS: Final = (
    "blue",
    "orange",
    "green",
    "brown",
    "slate",
    "white",
    "red",
    "black",
    "yellow",
    "violet",
    "rose",
    "aqua",
)


def strand_colour(label: str) -> str:
    """The first TIA-598 colour named in `label`, 'none' if it names none."""
    said = label.lower().replace("grey", "slate").replace("gray", "slate").replace("pink", "rose")
    letters = "".join(c if c.isalpha() else " " for c in said).split()
    return next((word for word in letters if word in COLOURS), "none")
