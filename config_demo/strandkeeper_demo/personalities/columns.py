"""The columns that layouts are put together from: figures, thresholds, alarms, and distractors."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Final

from strandkeeper.optics.units import Dbm, Milliwatt
from strandkeeper_demo.mib import Oid, Syntax, Value
from strandkeeper_demo.noise import Noise
from strandkeeper_demo.personalities.coding import Coding, Figure
from strandkeeper_demo.personalities.physics import OPTICS, PortNow, Quantity
from strandkeeper_demo.personalities.table import Column, Row, entity_of

__all__ = [
    "Limit",
    "alarm",
    "constant",
    "counter",
    "entity_ref",
    "figure",
    "held",
    "if_ref",
    "kind",
    "limit",
    "name",
    "one_row_each",
    "optic_name",
    "port_number",
    "random_walk",
    "serial",
    "uptime",
    "wavelength",
]

_NOISE: Final = Noise(97)


class Limit(Enum):
    """The four thresholds of SFF-8472, in its order."""

    HIGH_ALARM = 0
    LOW_ALARM = 1
    HIGH_WARNING = 2
    LOW_WARNING = 3


# Thresholds such as makers program; own figures. °C, V, mA, dBm.
LIMITS: Final[dict[Quantity, tuple[float, float, float, float]]] = {
    Quantity.TEMPERATURE: (80.0, -10.0, 75.0, -5.0),
    Quantity.SUPPLY: (3.6, 3.0, 3.5, 3.1),
    Quantity.BIAS: (90.0, 1.0, 80.0, 2.0),
    Quantity.TX: (1.0, -13.0, 0.0, -12.0),
    Quantity.RX: (0.5, -24.5, -1.0, -22.5),
}


def reading(port: PortNow, lane: int, quantity: Quantity) -> Figure:
    """A figure of a port."""
    light = port.lanes[lane]
    return {
        Quantity.TEMPERATURE: port.temperature_c,
        Quantity.SUPPLY: port.supply_v,
        Quantity.BIAS: light.bias_ma,
        Quantity.TX: light.tx,
        Quantity.RX: light.rx,
    }[quantity]


def _syntax(coding: Coding) -> Syntax:
    return Syntax.TEXT if coding.text else coding.syntax


def figure(arc: int, quantity: Quantity, coding: Coding) -> Column:
    """A live figure."""

    def fill(row: Row) -> Value | None:
        if not row.port.measures:
            return coding.missing
        return coding.write(reading(row.port, row.lane, quantity))

    return Column(arc=arc, syntax=_syntax(coding), fill=fill, codings={quantity: coding})


def one_row_each(arc: int, codings: Mapping[Quantity, Coding]) -> Column:
    """The value column of a table with one row a sensor."""

    def fill(row: Row) -> Value | None:
        if row.quantity is None:
            return None
        coding = codings[row.quantity]
        if not row.port.measures:
            return coding.missing
        return coding.write(reading(row.port, row.lane, row.quantity))

    syntax = _syntax(next(iter(codings.values())))
    return Column(arc=arc, syntax=syntax, fill=fill, codings=codings)


def limit(
    arc: int,
    quantity: Quantity | None,
    which: Limit,
    coding: Coding | Mapping[Quantity, Coding],
    *,
    programmed: bool = True,
) -> Column:
    """A threshold beside the figures; `quantity` None: that of the row's sensor."""
    shared = coding if isinstance(coding, Coding) else None

    def fill(row: Row) -> Value | None:
        wanted = quantity or row.quantity
        if wanted is None:
            return None
        how = shared or coding[wanted]  # type: ignore[index]
        if not row.port.measures:
            return how.missing
        return how.write(_limit(wanted, which)) if programmed else 0

    any_coding = shared or next(iter(coding.values()))  # type: ignore[union-attr]
    return Column(arc=arc, syntax=_syntax(any_coding), fill=fill)


def _limit(quantity: Quantity, which: Limit) -> Figure:
    value = LIMITS[quantity][which.value]
    return Dbm(value).to_milliwatt() if quantity in (Quantity.TX, Quantity.RX) else value


def alarm(arc: int, quantity: Quantity) -> Column:
    """1: all is well, 2: low alarm."""

    def fill(row: Row) -> Value | None:
        if not row.port.measures:
            return None
        dark = quantity is Quantity.RX and reading(row.port, row.lane, quantity) is None
        return 2 if dark else 1

    return Column(arc=arc, syntax=Syntax.INTEGER, fill=fill)


def held(arc: int, quantity: Quantity, coding: Coding, *, off: float) -> Column:
    """What a figure was at another time, `off` higher: the day's highest, lowest or mean.

    It stands still: the switch works it out once a day.
    """

    def fill(row: Row) -> Value | None:
        value = reading(row.port, row.lane, quantity) if row.port.measures else None
        if value is None:
            return coding.missing
        if isinstance(value, Milliwatt):
            whole = Dbm(round(value.to_dbm().value) + off)
            return coding.write(whole.to_milliwatt())
        return coding.write(round(value) + off)

    return Column(arc=arc, syntax=_syntax(coding), fill=fill)


def kind(arc: int, kinds: Mapping[Quantity, int | str]) -> Column:
    """Which quantity the row is about."""
    is_text = isinstance(next(iter(kinds.values())), str)
    return Column(
        arc=arc,
        syntax=Syntax.TEXT if is_text else Syntax.INTEGER,
        fill=lambda row: kinds[row.quantity] if row.quantity else None,
        tells_kind=True,
    )


def constant(arc: int, value: int | str | Oid) -> Column:
    """The same in every row."""
    syntax = Syntax.INTEGER if isinstance(value, int) else Syntax.TEXT
    return Column(arc=arc, syntax=syntax, fill=lambda _: value)


def name(arc: int, template: str = "{}") -> Column:
    """The port's name."""
    return Column(arc=arc, syntax=Syntax.TEXT, fill=lambda r: template.format(r.port.plan.name))


def port_number(arc: int) -> Column:
    """The front panel's number."""
    return Column(arc=arc, syntax=Syntax.INTEGER, fill=lambda r: r.port.plan.number)


def if_ref(arc: int) -> Column:
    """The port's ifIndex."""
    return Column(arc=arc, syntax=Syntax.INTEGER, fill=lambda r: r.if_index)


def entity_ref(arc: int) -> Column:
    """The module's entPhysicalIndex."""
    return Column(arc=arc, syntax=Syntax.INTEGER, fill=lambda r: entity_of(r.port.plan.number))


def serial(arc: int) -> Column:
    """The module's serial number, padded as SFF-8472 stores it."""
    return Column(arc=arc, syntax=Syntax.TEXT, fill=lambda r: f"{r.port.serial:<16}")


def optic_name(arc: int) -> Column:
    """The class of the module."""
    return Column(
        arc=arc,
        syntax=Syntax.TEXT,
        fill=lambda r: r.port.plan.optic if r.port.serial else "",
    )


def wavelength(arc: int) -> Column:
    """In nm; 0 without a module."""
    return Column(
        arc=arc,
        syntax=Syntax.INTEGER,
        fill=lambda r: OPTICS[r.port.plan.optic].wavelength_nm if r.port.serial else 0,
    )


def counter(arc: int, per_second: float, *, wide: bool = False) -> Column:
    """Packets or octets: only ever upward."""

    def fill(row: Row) -> int:
        share = 1.5 + _NOISE.smooth(f"rate {arc} {row.port.plan.number}", 0.0, 1.0)
        total = int(row.uptime_cs / 100 * per_second * share) if row.port.up else 0
        return int(total % (1 << (64 if wide else 32)))

    return Column(arc=arc, syntax=Syntax.COUNTER64 if wide else Syntax.COUNTER32, fill=fill)


def uptime(arc: int) -> Column:
    """Since when, in hundredths of a second."""
    return Column(arc=arc, syntax=Syntax.TICKS, fill=lambda row: row.uptime_cs)


def random_walk(
    arc: int, middle: float, swing: float, *, syntax: Syntax = Syntax.GAUGE, text: str = ""
) -> Column:
    """Something else that moves: fan speeds, watts over the network cable, load."""

    def fill(row: Row) -> Value:
        what = f"walk {arc} {middle} {row.port.plan.number}"
        seconds = row.uptime_cs / 100
        share = 0.7 * _NOISE.smooth(what, seconds, 600) + 0.1 * _NOISE.grain(what, seconds)
        value = middle + swing * share
        return text.format(v=value) if text else max(0, round(value))

    return Column(arc=arc, syntax=Syntax.TEXT if text else syntax, fill=fill)
