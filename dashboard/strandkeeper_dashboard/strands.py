"""The twelve strand colours of TIA-598, recognised in the owner's own labels."""

from __future__ import annotations

from strandkeeper.model.ledger import TIA_598

__all__ = ["strand_colour"]


def strand_colour(label: str) -> str:
    """The first TIA-598 colour named in `label`, 'none' if it names none."""
    said = label.lower().replace("grey", "slate").replace("gray", "slate").replace("pink", "rose")
    letters = "".join(c if c.isalpha() else " " for c in said).split()
    return next((word for word in letters if word in TIA_598), "none")
