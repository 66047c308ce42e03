"""Any number of invented switches whose layouts are drawn by lot, for tuning identification.

Every choice that an agent may make is drawn alone: index, order, units, words for no light, limits,
what stands between and beside the figures, what is left out. Shares are own design, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from random import Random
from typing import Final

from strandkeeper_demo.personalities import coding as unit
from strandkeeper_demo.personalities.coding import Coding, Unit
from strandkeeper_demo.personalities.columns import (
    Limit,
    alarm,
    constant,
    counter,
    entity_ref,
    figure,
    held,
    if_ref,
    kind,
    limit,
    name,
    one_row_each,
    optic_name,
    port_number,
    random_walk,
    serial,
    uptime,
    wavelength,
)
from strandkeeper_demo.personalities.interfaces import Interfaces
from strandkeeper_demo.personalities.layouts import port_row
from strandkeeper_demo.personalities.personality import Manners, Personality
from strandkeeper_demo.personalities.physics import OPTICS, Quantity
from strandkeeper_demo.personalities.sensors import Sensors
from strandkeeper_demo.personalities.table import Column, Index, IndexKind, Rows, Table

__all__ = ["wild"]

TEMPERATURE, SUPPLY, BIAS, TX, RX = Quantity
POWERS: Final = (TX, RX)
Codings = Mapping[Quantity, Coding]

_UNITS: Final[dict[Quantity, tuple[tuple[Unit, float], ...]]] = {
    TEMPERATURE: (
        (unit.DEGREE, 3),
        (unit.DECI_DEGREE, 3),
        (unit.DEGREE_256, 2),
        (unit.CENTI_DEGREE, 2),
        (unit.MILLI_DEGREE, 1),
    ),
    SUPPLY: (
        (unit.MILLIVOLT, 4),
        (unit.HUNDRED_MICROVOLT, 2),
        (unit.CENTIVOLT, 2),
        (unit.MICROVOLT, 1),
    ),
    BIAS: (
        (unit.MICROAMPERE, 3),
        (unit.TWO_MICROAMPERE, 2),
        (unit.TENTH_MILLIAMPERE, 2),
        (unit.TEN_MICROAMPERE, 2),
        (unit.MILLIAMPERE, 0.7),
    ),
    TX: (
        (unit.CENTI_DBM, 4),
        (unit.MILLI_DBM, 2),
        (unit.DECI_DBM, 2),
        (unit.ONE_DBM, 0.3),
        (unit.TENTH_MICROWATT, 3),
        (unit.ONE_MICROWATT, 2),
        (unit.NANOWATT, 1),
    ),
}
_DARK: Final = {
    unit.CENTI_DBM: (-4000, -4000, -3696, -9999, -6000, -2_147_483_648),
    unit.MILLI_DBM: (-40_000, -40_000, -99_999, -2_147_483_648),
    unit.DECI_DBM: (-400, -400, -999),
    unit.ONE_DBM: (-40, -99),
}
_STORED: Final = (
    unit.DEGREE_256,
    unit.HUNDRED_MICROVOLT,
    unit.TWO_MICROAMPERE,
    unit.TENTH_MICROWATT,
)
_PLACES: Final = {unit.DEGREE: 1, unit.VOLT: 2, unit.MILLIAMPERE: 2, unit.ONE_DBM: 2}
_WORDS: Final = ("temp", "volt", "curr", "txpw", "rxpw")


def wild(seed: int, count: int) -> tuple[Personality, ...]:
    """So many switches; an even number makes whole pairs."""
    return tuple(_Lot(Random(f"{seed}.{n}"), n).switch() for n in range(count))


class _Lot:
    """One switch drawn by lot."""

    def __init__(self, lot: Random, number: int) -> None:
        self._lot = lot
        self._number = number

    def _chance(self, share: float) -> bool:
        return self._lot.random() < share

    def _unit(self, quantity: Quantity) -> Unit:
        units = _UNITS[TX if quantity is RX else quantity]
        return self._lot.choices([u for u, _ in units], [w for _, w in units])[0]

    def switch(self) -> Personality:
        """All of it."""
        lot = self._lot
        index = self._index()
        lanes = 4 if index is IndexKind.IF_INDEX_LANE else 1
        scalar = index is IndexKind.SCALAR
        optic = "40GBASE-LR4" if lanes > 1 else lot.choice([o for o in OPTICS if o[:2] != "40"])
        first = "L" if lot.random() < 0.97 else "D"
        modules = "L" if scalar else first + "".join(lot.choices("LDEN", (5, 3, 2, 0.6), k=4))
        modules = modules[: lot.randint(1, 5)]
        copper = lot.choice((0, 0, 2, 4, 8, 24))
        head = lot.choice(("Gi{}", "Te1/{}", "port {}", "{}", "x{}/0", "Eth{}"))
        tables = self._tables(index, copper + 1)
        return Personality(
            name=f"wild-{self._number}",
            about="drawn by lot",
            arc=700 + self._number,
            ports=port_row(copper, modules, name=head, optic=optic, lanes=lanes),
            interfaces=Interfaces(
                first=lot.choice((1, 1, 10, 49, 1001, 10101)),
                step=lot.choice((1, 1, 1, 10, 1000)),
                names=lot.choice(("names", "names", "names", "descr only")),
                mau=self._chance(0.75),
            ),
            sensors=Sensors(quantities=frozenset({TEMPERATURE}))
            if index is IndexKind.ENTITY
            else None,
            manners=Manners(stalls_s=lot.choice((0.0, 0.0, 0.0, 20.0, 60.0, 300.0))),
            tables=(*tables, *self._beside()),
        )

    def _index(self) -> IndexKind:
        return self._lot.choices(list(IndexKind), [9, 2, 2, 1.5, 1.5, 1.5, 1.5, 2.5, 1], k=1)[0]

    def _published(self) -> list[Quantity]:
        left_out = self._lot.choices(
            ((), (SUPPLY,), (BIAS,), (TEMPERATURE, SUPPLY), (TEMPERATURE, SUPPLY, BIAS), (TX,)),
            (14, 1, 1, 1, 2, 1),
        )[0]
        return [q for q in Quantity if q not in left_out]

    def _codings(self, *, missing: bool) -> dict[Quantity, Coding]:
        if self._chance(0.25):
            return self._texts(missing=missing)
        power = self._unit(TX)
        gone = self._lot.choice((None, None, 0, -2_147_483_648)) if missing else None
        stored = self._chance(0.15)
        codings = {}
        for place, quantity in enumerate(Quantity):
            one = power if quantity in POWERS else self._unit(quantity)
            one = _STORED[min(place, 3)] if stored else one
            darks = _DARK.get(one)
            dark = self._lot.choice(darks) if darks and quantity in POWERS else None
            codings[quantity] = Coding(unit=one, dark=dark, missing=gone)
        if codings[TX].dark is not None:
            codings[TX] = codings[RX]
        return codings

    def _texts(self, *, missing: bool) -> dict[Quantity, Coding]:
        named, glue = self._chance(0.5), self._lot.choice((" ", ""))
        milliwatt = self._chance(0.25)
        units = (
            (unit.DEGREE, "C"),
            (unit.VOLT, "V"),
            (unit.MILLIAMPERE, "mA"),
            (unit.ONE_MILLIWATT, "mW") if milliwatt else (unit.ONE_DBM, "dBm"),
        )
        comma = self._chance(0.2)
        gone = self._lot.choice((None, "N/A", "--", "")) if missing else None
        dark = "0.0000" if milliwatt else self._lot.choice(("-inf", "-40.00", "--", "no light"))
        codings = {}
        for quantity, (one, word) in zip(Quantity, (*units, units[3]), strict=True):
            places = 4 if one is unit.ONE_MILLIWATT else _PLACES[one] + self._lot.choice((0, 0, 1))
            text = f"{{v:.{places}f}}" + (glue + word if named else "")
            codings[quantity] = Coding(
                unit=one,
                text=text,
                dark=dark if quantity in POWERS else None,
                missing=gone,
                comma=comma,
            )
        return codings

    def _tables(self, index: IndexKind, first: int) -> list[Table]:
        lot = self._lot
        rows = lot.choice((Rows.MODULES, Rows.MODULES, Rows.SLOTS))
        codings = self._codings(missing=rows is not Rows.MODULES)
        published = self._published()
        arc = tuple(lot.randint(1, 12) for _ in range(lot.choice((1, 2, 2, 3))))
        if index is IndexKind.SCALAR:
            columns = self._columns(published, codings)
            head = Index(kind=index)
            return [Table(arc=(*arc[:1],), index=head, only=first, columns=columns)]
        if index in (IndexKind.IF_INDEX_KIND, IndexKind.KIND_IF_INDEX):
            return [self._by_kind(index, (*arc, 1), rows, published, codings)]
        if index is IndexKind.RUNNING and self._chance(0.6):
            return [self._by_kind(index, (*arc, 1), rows, published, codings)]
        how = Index(
            kind=index,
            offset=lot.choice((0, 0, -1, 100)) if index is IndexKind.PANEL else 0,
            lanes_from=lot.choice((0, 1)),
        )
        rows = Rows.MODULES if index is IndexKind.IF_INDEX_LANE else rows
        told = [name(90)] if index is IndexKind.RUNNING else []
        if len(published) > 3 and self._chance(0.1):
            apart = [q for q in published if q in POWERS]
            rest = [q for q in published if q not in POWERS]
            return [
                Table(
                    arc=(*arc, n, 1),
                    index=how,
                    rows=rows,
                    columns=(*told, *self._columns(some, codings)),
                )
                for n, some in enumerate((apart, rest), 1)
            ]
        columns = (*self._columns(published, codings), *told)
        return [Table(arc=(*arc, 1), index=how, rows=rows, columns=columns)]

    def _by_kind(
        self,
        index: IndexKind,
        arc: tuple[int, ...],
        rows: Rows,
        published: list[Quantity],
        codings: Codings,
    ) -> Table:
        lot = self._lot
        order = list(published)
        if self._chance(0.5):
            lot.shuffle(order)
        numbers = lot.choice((tuple(range(1, 6)), tuple(sorted(lot.sample(range(1, 60), 5)))))
        words = index is IndexKind.RUNNING and self._chance(0.5)
        kinds: dict[Quantity, int | str] = {}
        for place, quantity in enumerate(order):
            own = numbers[place]
            kinds[quantity] = _WORDS[list(Quantity).index(quantity)] if words else own
        mine = {q: codings[q] for q in order}
        columns: list[Column] = []
        if index is IndexKind.RUNNING:
            columns += [lot.choice((name, if_ref))(1), kind(2, kinds)]
        columns.append(one_row_each(4, mine))
        if self._chance(0.4):
            columns += [limit(5 + w.value, None, w, mine) for w in list(Limit)[:2]]
        if self._chance(0.4):
            columns.append(constant(10, 1))
        return Table(
            arc=arc, index=Index(kind=index, kinds=kinds), rows=rows, columns=tuple(columns)
        )

    def _order(self, published: list[Quantity]) -> list[Quantity]:
        order = list(published)
        way = self._lot.random()
        if way < 0.15:
            order.reverse()
        elif way < 0.3:
            self._lot.shuffle(order)
        elif way < 0.45 and RX in order and TX in order:
            a, b = order.index(TX), order.index(RX)
            order[a], order[b] = order[b], order[a]
        return order

    def _columns(self, published: list[Quantity], codings: Codings) -> tuple[Column, ...]:
        lot = self._lot
        made: list[Column] = []
        at = lot.randint(1, 4)
        around = lot.choice(("none", "none", "none", "behind", "before", "held", "empty"))
        gaps = self._chance(0.2)
        if self._chance(0.4):
            fillers = lot.sample((optic_name, serial, wavelength, port_number, if_ref, uptime), 2)
            made += [fill(at + place) for place, fill in enumerate(fillers)]
            at += 2
        elif self._chance(0.2):
            made, at = [entity_ref(at)], at + 1
        for quantity in self._order(published):
            added = self._figures(at, quantity, codings[quantity], around)
            made += added
            at = added[-1].arc + 1 + (lot.choice((0, 1)) if gaps else 0)
            if self._chance(0.1):
                made.append(self._stranger(at))
                at += 1
        if self._chance(0.3):
            made += [alarm(at, RX), alarm(at + 1, TX)]
            at += 2
        for _ in range(lot.choice((0, 0, 1, 2))):
            made.append(self._stranger(at))
            at += 1
        if self._chance(0.06) and not codings[TX].text and RX in published:
            other = Coding(unit=unit.TENTH_MICROWATT)
            if codings[TX].unit == other.unit:
                other = Coding(unit=unit.CENTI_DBM, dark=-4000)
            made += [figure(at, TX, other), figure(at + 1, RX, other)]
        return tuple(made)

    def _figures(self, at: int, quantity: Quantity, how: Coding, around: str) -> list[Column]:
        if around in {"behind", "empty"}:
            limits = [
                limit(at + 1 + w.value, quantity, w, how, programmed=around == "behind")
                for w in Limit
            ]
            return [figure(at, quantity, how), *limits]
        if around == "before":
            limits = [limit(at + w.value, quantity, w, how) for w in Limit]
            return [*limits, figure(at + 4, quantity, how)]
        if around == "held" and quantity in POWERS:
            low, high = held(at, quantity, how, off=-1.0), held(at + 2, quantity, how, off=1.0)
            return [low, figure(at + 1, quantity, how), high]
        return [figure(at, quantity, how)]

    def _stranger(self, at: int) -> Column:
        lot = self._lot
        return lot.choice(
            (
                constant(at, lot.choice((1, 20, 1500, 10_000, 1310, 3300, -40, 33_000))),
                counter(at, lot.choice((3.0, 50.0, 900.0))),
                random_walk(at, lot.choice((35, 3300, 4200, 5000, 410)), 9),
                random_walk(at, lot.choice((35, 3300, 15_400, 6500)), 300),
                wavelength(at),
            )
        )

    def _beside(self) -> list[Table]:
        """What other tables hold: the chassis, counters, power over the cable."""
        tables = []
        for n in range(self._lot.choice((0, 1, 1, 2))):
            columns = tuple(self._stranger(at) for at in range(1, 2 + self._lot.randint(1, 5)))
            how = self._lot.choice((IndexKind.IF_INDEX, IndexKind.RUNNING))
            rows = self._lot.choice((Rows.ALL, Rows.SLOTS))
            tables.append(
                Table(arc=(20 + n, 1, 1), index=Index(kind=how), rows=rows, columns=columns)
            )
        return tables
