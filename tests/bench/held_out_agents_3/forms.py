"""What these switches need beside the common columns: thresholds by class, words of sensors."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from strandkeeper.optics.units import Dbm
from strandkeeper_demo.mib import Syntax, Value
from strandkeeper_demo.personalities.coding import Coding, Figure, Unit
from strandkeeper_demo.personalities.columns import Limit, figure
from strandkeeper_demo.personalities.layouts import Codings
from strandkeeper_demo.personalities.physics import OPTICS, Quantity
from strandkeeper_demo.personalities.table import Column, Row

__all__ = [
    "bound",
    "bound_each",
    "bounded",
    "bounds",
    "limit_of",
    "octets",
    "sensor_words",
    "whole",
]

POWERS: Final = (Quantity.TX, Quantity.RX)

# Where makers let a receiver warn: high and low alarm in dBm, by class; own figures.
RX_ALARMS: Final[dict[str, tuple[float, float]]] = {
    "100BASE-LX10": (-6.0, -28.0),
    "1000BASE-SX": (0.0, -18.0),
    "1000BASE-LX10": (-1.0, -22.0),
    "1000BASE-ZX": (-1.0, -25.0),
    "10GBASE-SR": (2.0, -13.0),
    "10GBASE-LR": (2.5, -16.0),
    "40GBASE-LR4": (4.5, -13.0),
}


def limit_of(quantity: Quantity, which: Limit, optic: str) -> float:
    """A threshold of a class of module: °C, V, mA, dBm."""
    launch, bias = OPTICS[optic].launch.value, OPTICS[optic].bias_ma
    high, low = RX_ALARMS[optic]
    four = {
        Quantity.TEMPERATURE: (85.0, -10.0, 75.0, 0.0),
        Quantity.SUPPLY: (3.63, 2.97, 3.5, 3.1),
        Quantity.BIAS: (2.5 * bias, 0.2 * bias, 2.2 * bias, 0.3 * bias),
        Quantity.TX: (launch + 4, launch - 5, launch + 3, launch - 4),
        Quantity.RX: (high, low, high - 1, low + 1),
    }
    return four[quantity][which.value]


def _limit(quantity: Quantity, which: Limit, optic: str) -> Figure:
    value = limit_of(quantity, which, optic)
    return Dbm(value).to_milliwatt() if quantity in POWERS else value


def bound(arc: int, quantity: Quantity, which: Limit, coding: Coding) -> Column:
    """A threshold as the module in the row has it."""

    def fill(row: Row) -> Value | None:
        if not row.port.measures:
            return coding.missing
        return coding.write(_limit(quantity, which, row.port.plan.optic))

    return Column(arc=arc, syntax=Syntax.TEXT if coding.text else coding.syntax, fill=fill)


def bound_each(arc: int, which: Limit, codings: Mapping[Quantity, Coding]) -> Column:
    """A threshold in a table with one row a sensor."""

    def fill(row: Row) -> Value | None:
        if row.quantity is None:
            return None
        coding = codings[row.quantity]
        if not row.port.measures:
            return coding.missing
        return coding.write(_limit(row.quantity, which, row.port.plan.optic))

    any_coding = next(iter(codings.values()))
    syntax = Syntax.TEXT if any_coding.text else any_coding.syntax
    return Column(arc=arc, syntax=syntax, fill=fill)


def bounds(first: int, quantity: Quantity, coding: Coding) -> list[Column]:
    """Four thresholds in a row of arcs."""
    return [bound(first + which.value, quantity, which, coding) for which in Limit]


def bounded(first: int, quantity: Quantity, coding: Coding) -> list[Column]:
    """A live figure and its four thresholds behind it."""
    return [figure(first, quantity, coding), *bounds(first + 1, quantity, coding)]


def octets(arc: int, value: bytes) -> Column:
    """The same octets in every row, such as a list of VLANs by bits."""
    return Column(arc=arc, syntax=Syntax.TEXT, fill=lambda _: value)


def sensor_words(arc: int, words: Mapping[Quantity, str]) -> Column:
    """What the sensor of a row is called, with the port's name."""
    return Column(
        arc=arc,
        syntax=Syntax.TEXT,
        fill=lambda r: f"{r.port.plan.name} {words[r.quantity]}" if r.quantity else None,
    )


def whole(
    units: tuple[Unit, Unit, Unit, Unit],
    *,
    dark: int | None = None,
    missing: int | None = None,
    missing_power: int | None = None,
    syntax: Syntax = Syntax.INTEGER,
) -> Codings:
    """Whole numbers in units of temperature, supply, bias and powers; what stands for nothing.

    `missing_power`: in the powers' cells, where that is not `missing`.
    """
    nothing = missing if missing_power is None else missing_power
    return {
        quantity: Coding(
            unit=unit,
            syntax=syntax,
            dark=dark if quantity in POWERS else None,
            missing=nothing if quantity in POWERS else missing,
        )
        for quantity, unit in zip(Quantity, (*units, units[3]), strict=True)
    }
