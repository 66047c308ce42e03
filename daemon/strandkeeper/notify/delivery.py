"""What became of one try to deliver."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["DELIVERED", "Delivery", "failed"]

_LONGEST = 300


@dataclass(frozen=True, slots=True)
class Delivery:
    """Delivered, or why not: one line for a person, without a secret in it."""

    ok: bool
    why: str = ""


DELIVERED = Delivery(ok=True)


def failed(why: str) -> Delivery:
    """It was not, or it is not known to have been; it will be tried again."""
    return Delivery(ok=False, why=" ".join(why.split())[:_LONGEST] or "no reason was given")
