"""Optics out of a switch's own table, as the configuration describes it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import POWERS, EnterpriseTable
from strandkeeper.model.module import NOTHING_SAID, ModuleFacts
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.power import NOT_REPORTED, Power
from strandkeeper.model.reading import OpticalReading, Quantity
from strandkeeper.readers.base import Binding, Column, ModuleState, PortKey, PortReader, Sample
from strandkeeper.readers.module_cells import facts_of_cells
from strandkeeper.readers.table_figures import Figures, figures_of
from strandkeeper.readers.table_rows import TableRow, needed_columns, table_rows
from strandkeeper.readers.text_cell import folded

__all__ = ["EnterpriseReader"]

_GONE = (Absent.NO_SUCH_INSTANCE, Absent.NO_SUCH_OBJECT)
_NAMED = ("serial", "maker", "part", "wavelength")  # what a module says of itself
_SHOWN = 5  # odd cells named in a remark


class EnterpriseReader:
    """One described table. Its name in identities and remarks is that of the description."""

    def __init__(self, table: EnterpriseTable) -> None:
        self._table = table
        self._figures = {q: figures_of(table, q, c) for q, c in table.columns.items()}
        self.name = f'table "{table.name}"'
        first = next((table.columns[q] for q in Quantity if q in table.columns), None)
        self.probe: Oid = () if first is None else first.oid
        figures = [c.oid for c in table.columns.values()]
        self._identity = {name: oid for name in _NAMED if (oid := getattr(table, name)) is not None}
        self.columns: tuple[Oid, ...] = tuple(
            dict.fromkeys([*figures, *self._identity.values(), *needed_columns(table)])
        )

    def bind(self, tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> Binding:
        """Tie the rows to ports, as the description says."""
        indexes = {i for c in self._table.columns.values() for i in tables.get(c.oid, {})}
        rows, loose = table_rows(self._table, list(indexes), tables, ports)
        by_port: dict[int, list[TableRow]] = {}
        for row in rows:
            by_port.setdefault(row.if_index, []).append(row)
        plans: dict[int, PortReader] = {}
        for port, of_port in by_port.items():
            plan = self._plan(of_port, tables)
            if plan is not None:
                plans[port] = plan
        remarks = [*self._loose(loose), *self._odd(tables, rows)]
        return Binding(plans, tuple(remarks))

    def _loose(self, loose: Sequence[Oid]) -> Iterator[str]:
        if loose:
            shown = ", ".join(".".join(map(str, index)) for index in loose[:_SHOWN])
            yield f"{self.name}: {len(loose)} rows fit no port of the switch ({shown})"

    def _odd(self, tables: Mapping[Oid, Column], rows: Sequence[TableRow]) -> Iterator[str]:
        """Cells that are neither figures nor words of the description."""
        odd: dict[str, None] = {}
        for row in rows:
            for quantity, column in self._table.columns.items():
                value = tables.get(column.oid, {}).get(row.index)
                if (
                    value is not None
                    and self._is_of(quantity, row)
                    and not self._reads(quantity, value)
                ):
                    shown = folded(value) if isinstance(value, bytes) else str(value)
                    odd[f'"{shown[:30]}" ({quantity.value})'] = None
        if odd:
            yield (
                f"{self.name}: cells that are no figures, taken as not reported: "
                f"{', '.join(list(odd)[:_SHOWN])}; name them in no_light or not_there"
            )

    def _reads(self, quantity: Quantity, value: Value) -> bool:
        try:
            _read(self._figures[quantity], value)
        except DecodeError:
            return False
        return True

    def _is_of(self, quantity: Quantity, row: TableRow) -> bool:
        """Whether a row is about a quantity; where rows have no kinds, each is about all."""
        kind = self._table.columns[quantity].kind
        if kind is None:
            return True
        wanted = folded(kind) if isinstance(kind, str) else kind
        return row.kind == wanted or (isinstance(row.kind, str) and row.kind == str(wanted))

    def _plan(self, rows: Sequence[TableRow], tables: Mapping[Oid, Column]) -> PortReader | None:
        """The cell of each quantity in the judged lane; the other lanes are told."""
        cells: dict[Quantity, Oid] = {}
        others: list[int] = []
        for quantity, column in self._table.columns.items():
            there = [
                r
                for r in rows
                if self._is_of(quantity, r) and r.index in tables.get(column.oid, {})
            ]
            judged = self._judged(there)
            if judged is None:
                continue
            cells[quantity] = (*column.oid, *judged.index)
            if quantity in POWERS:
                others += [r.lane for r in there if r.lane is not None and r != judged]
        if not any(q in cells for q in POWERS):
            return None
        return _TablePort(
            cells=cells,
            figures=self._figures,
            named=self._named(rows, cells, tables),
            presence=self._presence(cells),
            remarks=_lanes(others, self._lane_of(rows)),
        )

    def _judged(self, rows: Sequence[TableRow]) -> TableRow | None:
        if self._table.lane is not None:
            wanted = [r for r in rows if r.lane in (None, self._table.lane)]
            return wanted[0] if wanted else None
        return min(rows, key=lambda r: (r.lane or 0, r.index), default=None)

    def _lane_of(self, rows: Sequence[TableRow]) -> int | None:
        lanes = [r.lane for r in rows if r.lane is not None]
        return self._table.lane if self._table.lane is not None else min(lanes, default=None)

    def _named(
        self, rows: Sequence[TableRow], cells: Mapping[Quantity, Oid], tables: Mapping[Oid, Column]
    ) -> dict[str, Oid]:
        """What names the module: in the row of the figures, else in any row of the port."""
        used = [r.index for r in rows if any(o[-len(r.index) :] == r.index for o in cells.values())]
        found: dict[str, Oid] = {}
        for name, column in self._identity.items():
            rows_there = tables.get(column, {})
            there = [i for i in (*used, *(r.index for r in rows)) if i in rows_there]
            if there:
                found[name] = (*column, *there[0])
        return found

    def _presence(self, cells: Mapping[Quantity, Oid]) -> Oid | None:
        """A cell of the port's own row, where one number is the row's whole index."""
        if len(self._table.index) != 1 or self._table.port_oid is not None:
            return None
        return next(iter(cells.values()))


def _lanes(others: Sequence[int], judged: int | None) -> tuple[str, ...]:
    if not others:
        return ()
    return (f"judged by lane {judged}; further lanes: {', '.join(map(str, sorted(set(others))))}",)


def _read(figures: Figures, value: Value | None) -> Power | float | None:
    return figures.power(value) if figures.quantity in POWERS else figures.number(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class _TablePort:
    """The cells of one port."""

    cells: Mapping[Quantity, Oid]
    figures: Mapping[Quantity, Figures]
    named: Mapping[str, Oid]
    presence: Oid | None
    made: ModuleFacts = NOTHING_SAID
    remarks: tuple[str, ...] = ()
    oids: tuple[Oid, ...] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "oids", (*self.cells.values(), *self.named.values()))

    def decode(self, values: Mapping[Oid, Value]) -> Sample:
        """The reading; rows that are gone mean a module that is gone."""
        raw = {q: values.get(oid) for q, oid in self.cells.items()}
        if all(v in _GONE for v in raw.values()):
            return Sample(reading=OpticalReading(), module=ModuleState.GONE)
        if all(v is None or isinstance(v, Absent) for v in raw.values()):
            return Sample(reading=None)
        reading = self._reading(raw)
        empty = reading == OpticalReading()
        facts = facts_of_cells(self.named, values)
        return Sample(
            reading=reading,
            module=ModuleState.UNKNOWN if empty else ModuleState.PRESENT,
            module_id=None if facts is None else facts.module_id,
            facts=facts,
        )

    def _reading(self, raw: Mapping[Quantity, Value | None]) -> OpticalReading:
        temperature = self._number(Quantity.TEMPERATURE, raw)
        supply = self._number(Quantity.SUPPLY, raw)
        if temperature == 0 and supply == 0:
            return OpticalReading()  # a module without diagnostics, shown as zeros
        return OpticalReading(
            rx=self._power(Quantity.RX, raw),
            tx=self._power(Quantity.TX, raw),
            bias_ma=self._number(Quantity.BIAS, raw),
            temp_c=temperature,
            vcc_v=supply,
        )

    def _power(self, quantity: Quantity, raw: Mapping[Quantity, Value | None]) -> Power:
        if quantity not in raw:
            return NOT_REPORTED
        try:
            return self.figures[quantity].power(raw[quantity])
        except DecodeError:
            return NOT_REPORTED

    def _number(self, quantity: Quantity, raw: Mapping[Quantity, Value | None]) -> float | None:
        if quantity not in raw:
            return None
        try:
            return self.figures[quantity].number(raw[quantity])
        except DecodeError:
            return None
