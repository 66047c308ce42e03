"""Marks for what identification offered, held against the ground truth of the switches."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from tests.bench.identify_course import Claim, Offer

from strandkeeper_demo.personalities.personality import Truth
from strandkeeper_demo.personalities.physics import Quantity
from strandkeeper_demo.personalities.table import Published

__all__ = ["Mark", "Marks", "is_right", "mark"]


def is_right(claim: Claim, truth: Published) -> bool:
    """Whether a claim names that column, that kind of row, and that unit."""
    if claim.column != truth.column or claim.kind != truth.kind:
        return False
    if claim.as_written:
        return truth.names_unit
    same_step = math.isclose(claim.step, truth.unit.step, rel_tol=1e-6)
    return same_step and claim.dimension == truth.unit.dimension


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One quantity of one switch."""

    published: bool
    offered: bool
    first_right: bool
    among_right: bool
    column_right: bool
    confident_wrong: bool


def mark(offer: Offer | None, truths: tuple[Published, ...]) -> Mark:
    """The mark for one offer."""
    claims = offer.claims if offer else ()
    right = [any(is_right(claim, truth) for truth in truths) for claim in claims]
    places = {(t.column, t.kind) for t in truths}
    first = bool(right and right[0])
    return Mark(
        published=bool(truths),
        offered=bool(claims),
        first_right=first,
        among_right=any(right),
        column_right=bool(claims) and (claims[0].column, claims[0].kind) in places,
        confident_wrong=bool(offer and offer.confident and claims and not first),
    )


@dataclass(slots=True)
class Marks:
    """The marks of many switches, by quantity."""

    by_quantity: dict[Quantity, list[tuple[str, Mark]]] = field(default_factory=dict)

    def add(self, switch: str, truth: Truth, offers: Mapping[Quantity, Offer]) -> None:
        """Mark one switch."""
        for quantity in Quantity:
            one = mark(offers.get(quantity), truth.of(quantity))
            self.by_quantity.setdefault(quantity, []).append((switch, one))

    def precision(self, quantity: Quantity) -> float | None:
        """Of what was ranked first, how much is right. None: nothing was offered."""
        return _share([m.first_right for _, m in self.by_quantity[quantity] if m.offered])

    def recall(self, quantity: Quantity) -> float | None:
        """Of what is published, how much was ranked first. None: nothing is published."""
        return _share([m.first_right for _, m in self.by_quantity[quantity] if m.published])

    def missed(self, quantity: Quantity) -> list[str]:
        """The switches that publish it and did not have it ranked first."""
        marks = self.by_quantity[quantity]
        return [name for name, m in marks if m.published and not m.first_right]

    def invented(self, quantity: Quantity) -> list[str]:
        """The switches that do not publish it and had it offered."""
        return [name for name, m in self.by_quantity[quantity] if m.offered and not m.published]

    def confident_wrong(self) -> list[tuple[str, Quantity]]:
        """Every wrong answer that was offered without an alternative."""
        return [
            (name, quantity)
            for quantity, marks in self.by_quantity.items()
            for name, m in marks
            if m.confident_wrong
        ]


def _share(hits: list[bool]) -> float | None:
    return sum(hits) / len(hits) if hits else None
