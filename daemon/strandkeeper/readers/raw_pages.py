"""Optics out of a module's raw pages (SFF-8472) that a switch hands on as octet strings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from strandkeeper.errors import DecodeError
from strandkeeper.model.enterprise_table import EnterpriseTable
from strandkeeper.model.module import NOTHING_SAID, ModuleFacts
from strandkeeper.model.oid import Absent, Oid, Value
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured, Power
from strandkeeper.model.reading import OpticalReading, Quantity
from strandkeeper.optics.sff8472 import Module, decode_module
from strandkeeper.optics.sff8472.diagnostics import Diagnostics
from strandkeeper.optics.sff8472.words import Calibration, Flag, PowerKind
from strandkeeper.optics.units import Microwatt
from strandkeeper.readers.base import Binding, Column, ModuleState, PortKey, PortReader, Sample
from strandkeeper.readers.module_cells import facts_of_page
from strandkeeper.readers.table_rows import needed_columns, table_rows

__all__ = ["RawPagesReader", "reading_of_module"]

_GONE = (Absent.NO_SUCH_INSTANCE, Absent.NO_SUCH_OBJECT)
_PAGE = 256  # octets


class RawPagesReader:
    """One described table of pages. Its name in identities and remarks is the description's."""

    def __init__(self, table: EnterpriseTable) -> None:
        self._table = table
        self.name = f'table "{table.name}"'
        pages = [p for p in (table.pages, table.page_a2, table.page_a0) if p is not None]
        self.probe: Oid = pages[0]
        self.columns: tuple[Oid, ...] = (*pages, *needed_columns(table))

    def bind(self, tables: Mapping[Oid, Column], ports: Sequence[PortKey]) -> Binding:
        """Tie the rows to ports; the first row of a port is taken."""
        rows, loose = table_rows(self._table, list(tables.get(self.probe, {})), tables, ports)
        plans: dict[int, PortReader] = {}
        for row in rows:
            plans.setdefault(row.if_index, self._port(row.index))
        remarks = (f"{self.name}: {len(loose)} rows fit no port of the switch",) if loose else ()
        return Binding(plans, remarks)

    def _port(self, index: Oid) -> _PagesPort:
        def at(column: Oid | None) -> Oid | None:
            return None if column is None else (*column, *index)

        return _PagesPort(
            both=at(self._table.pages), a0=at(self._table.page_a0), a2=at(self._table.page_a2)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _PagesPort:
    """The pages of one port: `both` in one string, or apart."""

    both: Oid | None
    a0: Oid | None
    a2: Oid | None
    made: ModuleFacts = NOTHING_SAID
    remarks: tuple[str, ...] = ()
    oids: tuple[Oid, ...] = field(init=False)

    def __post_init__(self) -> None:
        there = tuple(o for o in (self.both, self.a0, self.a2) if o is not None)
        object.__setattr__(self, "oids", there)

    @property
    def presence(self) -> Oid | None:
        """The string itself."""
        return self.oids[0]

    def decode(self, values: Mapping[Oid, Value]) -> Sample:
        """The reading; an empty string, or none, is a port without a module."""
        raw = [values.get(oid) for oid in self.oids]
        if all(v in _GONE for v in raw):
            return Sample(reading=OpticalReading(), module=ModuleState.GONE)
        if not any(isinstance(v, bytes) for v in raw):
            return Sample(reading=None)
        a0, a2 = self._pages(values)
        if not a0 and not a2:
            return Sample(reading=OpticalReading())
        try:
            module = decode_module(a0 or None, a2 or None)
        except DecodeError:
            return Sample(reading=OpticalReading())
        facts = facts_of_page(module.identity)
        return Sample(
            reading=reading_of_module(module),
            module=ModuleState.PRESENT if module.identity else ModuleState.UNKNOWN,
            module_id=None if facts is None else facts.module_id,
            facts=facts,
        )

    def _pages(self, values: Mapping[Oid, Value]) -> tuple[bytes, bytes]:
        def octets(oid: Oid | None) -> bytes:
            value = None if oid is None else values.get(oid)
            return value if isinstance(value, bytes) else b""

        if self.both is not None:
            whole = octets(self.both)
            return whole[:_PAGE], whole[_PAGE : 2 * _PAGE]
        return octets(self.a0)[:_PAGE], octets(self.a2)[:_PAGE]


def reading_of_module(module: Module) -> OpticalReading:
    """The reading in decoded pages.

    Not reported is what is no measurement: figures at the end of their scale, everything while the
    module says that its figures are not ready or its calibration is damaged, and a receive power
    that is not an average (OMA): limits and losses are of averages.
    """
    live = module.diagnostics
    if live is None or (live.status is not None and live.status.not_ready is Flag.SET):
        return OpticalReading()
    if live.calibration is Calibration.EXTERNAL and not live.sound:
        return OpticalReading()  # the constants that make figures of the counts are in doubt
    rx = NOT_REPORTED if live.power_kind is PowerKind.OMA else _power(live, Quantity.RX, live.rx)
    return OpticalReading(
        rx=rx,
        tx=_power(live, Quantity.TX, live.tx),
        bias_ma=_number(live, Quantity.BIAS, live.bias_ma),
        temp_c=_number(live, Quantity.TEMPERATURE, live.temp_c),
        vcc_v=_number(live, Quantity.SUPPLY, live.vcc_v),
    )


def _power(live: Diagnostics, of: Quantity, power: Microwatt | None) -> Power:
    if power is None or of.value in live.saturated:
        return NOT_REPORTED
    milliwatt = power.to_milliwatt()
    return NO_LIGHT if milliwatt.value == 0 else Measured(milliwatt.to_dbm())


def _number(live: Diagnostics, of: Quantity, value: float | None) -> float | None:
    return None if of.value in live.saturated else value
