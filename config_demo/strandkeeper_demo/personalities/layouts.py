"""Short ways of writing a layout down: a row of ports, five columns, a figure with its limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strandkeeper_demo.mib import Syntax
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.columns import Limit, figure, limit
from strandkeeper_demo.personalities.physics import Fill, PortPlan, Quantity
from strandkeeper_demo.personalities.table import Column

__all__ = ["Codings", "five", "integers", "port_row", "texts", "with_limits"]

Codings = dict[Quantity, Coding]

LETTERS: Final = {"L": Fill.LIT, "D": Fill.DARK, "E": Fill.EMPTY, "N": Fill.NO_DDM}


def port_row(
    copper: int,
    modules: str,
    *,
    name: str = "Gi{}",
    optic: str = "1000BASE-LX10",
    lanes: int = 1,
) -> tuple[PortPlan, ...]:
    """Copper ports, then ports for modules: L lit, D dark, E empty, N without diagnostics."""
    fills = [*[Fill.COPPER] * copper, *(LETTERS[letter] for letter in modules)]
    return tuple(
        PortPlan(number=n, fill=fill, name=name.format(n), optic=optic, lanes=lanes)
        for n, fill in enumerate(fills, 1)
    )


def integers(
    units: tuple[Unit, Unit, Unit, Unit],
    *,
    syntax: Syntax = Syntax.INTEGER,
    dark: int | None = None,
    missing: int | None = None,
) -> Codings:
    """Codings in whole numbers: units of temperature, supply, bias, and of both powers."""
    each = (*units, units[3])
    return {
        quantity: Coding(
            unit=unit,
            syntax=syntax,
            dark=dark if unit is units[3] else None,
            missing=missing,
        )
        for quantity, unit in zip(Quantity, each, strict=True)
    }


def texts(
    cells: tuple[tuple[Unit, str], ...],
    *,
    dark: str,
    missing: str | None = None,
    comma: bool = False,
    minus: str = "-",
) -> Codings:
    """Codings in text: unit and template of temperature, supply, bias, and of both powers."""
    each = (*cells, cells[3])
    return {
        quantity: Coding(unit=unit, text=text, dark=dark, missing=missing, comma=comma, minus=minus)
        for quantity, (unit, text) in zip(Quantity, each, strict=True)
    }


def five(arcs: tuple[int, int, int, int, int], codings: Mapping[Quantity, Coding]) -> list[Column]:
    """Five figures; the arcs in the order of SFF-8472."""
    return [
        figure(arc, quantity, codings[quantity])
        for arc, quantity in zip(arcs, Quantity, strict=True)
    ]


def with_limits(
    first: int, quantity: Quantity, coding: Coding, *, programmed: bool = True
) -> list[Column]:
    """A figure at `first`, its four thresholds in the arcs behind it."""
    limits = [
        limit(first + 1 + which.value, quantity, which, coding, programmed=programmed)
        for which in Limit
    ]
    return [figure(first, quantity, coding), *limits]
