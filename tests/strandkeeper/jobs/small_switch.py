"""A small switch behind a test agent: two fibre ports with modules, every cell in reach.

Written from the standards' column numbers, not from the product's tables.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.strandkeeper.snmp import ber
from tests.strandkeeper.snmp.ber import Cell, Oid

SYSTEM: Oid = (1, 3, 6, 1, 2, 1, 1)
IF: Oid = (1, 3, 6, 1, 2, 1, 2, 2, 1)
IFX: Oid = (1, 3, 6, 1, 2, 1, 31, 1, 1, 1)
TABLE_CHANGE: Oid = (1, 3, 6, 1, 2, 1, 31, 1, 5, 0)
DOT3: Oid = (1, 3, 6, 1, 2, 1, 10, 7, 2, 1)
DOT3HC: Oid = (1, 3, 6, 1, 2, 1, 10, 7, 11, 1)
MAU: Oid = (1, 3, 6, 1, 2, 1, 26, 2, 1, 1)
ENTITY: Oid = (1, 3, 6, 1, 2, 1, 47, 1, 1, 1, 1)
ALIAS: Oid = (1, 3, 6, 1, 2, 1, 47, 1, 3, 2, 1, 2)
ENTITY_CHANGE: Oid = (1, 3, 6, 1, 2, 1, 47, 1, 4, 1, 0)
SENSOR: Oid = (1, 3, 6, 1, 2, 1, 99, 1, 1, 1)
MAU_TYPE_LX10: Oid = (1, 3, 6, 1, 2, 1, 26, 4, 49)

UP, DOWN, NOT_PRESENT = 1, 2, 6


@dataclass(slots=True)
class SmallSwitch:
    """`table` is what the agent answers from; the methods are what befalls the switch."""

    table: dict[Oid, Cell] = field(default_factory=dict)
    uptime_cs: int = 5_000_000
    base: int = 0  # added to every ifIndex
    sensors_from: int = 1000

    def __post_init__(self) -> None:
        self.boot()

    def boot(self) -> None:
        """All tables from the start."""
        self.table.clear()
        for column, cell in {
            1: ber.text("harbour switch"),
            2: ber.pointer((1, 3, 6, 1, 4, 1, 99999, 7)),
            5: ber.text("quay-1"),
        }.items():
            self.table[(*SYSTEM, column, 0)] = cell
        self.table[TABLE_CHANGE] = ber.ticks(100)
        self.table[ENTITY_CHANGE] = ber.ticks(200)
        for port in (1, 2):
            self._port(port)
            self.insert(port)
        self.tick()

    def tick(self, centiseconds: int = 0) -> None:
        """Let time pass."""
        self.uptime_cs = (self.uptime_cs + centiseconds) % 2**32
        self.table[(*SYSTEM, 3, 0)] = ber.ticks(self.uptime_cs)

    def _port(self, port: int) -> None:
        row = port + self.base
        cells = {
            (*IF, 2): ber.text(f"fibre port {port}"),
            (*IF, 5): ber.gauge(1_000_000_000),
            (*IF, 7): ber.integer(UP),
            (*IF, 8): ber.integer(UP),
            (*IF, 9): ber.ticks(3000),
            (*IF, 10): ber.counter32(0),
            (*IF, 11): ber.counter32(0),
            (*IF, 14): ber.counter32(0),
            (*IF, 16): ber.counter32(0),
            (*IFX, 1): ber.text(f"Gi{port}"),
            (*IFX, 6): ber.counter64(0),
            (*IFX, 7): ber.counter64(0),
            (*IFX, 8): ber.counter64(0),
            (*IFX, 9): ber.counter64(0),
            (*IFX, 10): ber.counter64(0),
            (*IFX, 15): ber.gauge(1000),
            (*IFX, 18): ber.text(f"to the {'pump house' if port == 1 else 'jetty'}"),
            (*IFX, 19): ber.ticks(0),
            (*DOT3, 3): ber.counter32(0),
            (*DOT3, 18): ber.counter32(0),
        }
        for column, cell in cells.items():
            self.table[(*column, row)] = cell
        self.table[(*MAU, 3, row, 1)] = ber.pointer(MAU_TYPE_LX10)
        self.table[(*MAU, 5, row, 1)] = ber.integer(3)

    def module(self, port: int) -> int:
        """The entity of a port's module; its sensors follow: degrees, volts, amperes, out, in."""
        return self.sensors_from + 10 * port

    def insert(self, port: int, *, serial: str = "", milli: bool = False) -> None:
        """Put a module in: 1/10 uW a count, or 1/10 of that with `milli` (other units)."""
        entity = self.module(port)
        self._entity(entity, 0, 9, f"module {port}", serial or f"SN-{port}")
        self.table[(*ALIAS, entity, 0)] = ber.pointer((*IF, 1, port + self.base))
        power = (6, 8, 5) if milli else (6, 7, 1)
        for n, (name, kind, raw) in enumerate(
            [
                ("Temperature", (8, 9, 1), 352),
                ("Supply", (4, 8, 0), 3310),
                ("Bias current", (5, 8, 2), 3610),
                ("Tx power", power, 29990 if milli else 2999),
                ("Rx power", power, 10000 if milli else 1000),
            ],
            start=1,
        ):
            self._entity(entity + n, entity, 8, name, "")
            for column, value in zip((1, 2, 3, 4, 5), (*kind, raw, 1), strict=True):
                self.table[(*SENSOR, column, entity + n)] = ber.integer(value)

    def _entity(self, index: int, inside: int, kind: int, name: str, serial: str) -> None:
        for column, cell in {
            2: ber.text(name),
            4: ber.integer(inside),
            5: ber.integer(kind),
            7: ber.text(name),
            11: ber.text(serial),
        }.items():
            self.table[(*ENTITY, column, index)] = cell

    def pull(self, port: int) -> None:
        """Take a module out: its rows are gone."""
        entity = self.module(port)
        for oid in [o for o in self.table if o[:-1] != SYSTEM and entity <= o[-1] <= entity + 5]:
            if oid[: len(ENTITY)] == ENTITY or oid[: len(SENSOR)] == SENSOR:
                del self.table[oid]
        del self.table[(*ALIAS, entity, 0)]

    def no_sensors(self) -> None:
        """The sensor service dies: the whole table is gone."""
        for oid in [o for o in self.table if o[: len(SENSOR)] == SENSOR]:
            del self.table[oid]

    def sensor(self, port: int, n: int, raw: int, *, column: int = 4) -> None:
        """Set a cell of one of the five sensors of a port (1 degrees ... 5 receive power)."""
        self.table[(*SENSOR, column, self.module(port) + n)] = ber.integer(raw)

    def count(self, port: int, *, octets: int, frames: int, damaged: int = 0) -> None:
        """Set a port's counters."""
        row = port + self.base
        self.table[(*IFX, 6, row)] = ber.counter64(octets)
        self.table[(*IFX, 10, row)] = ber.counter64(octets)
        self.table[(*IFX, 7, row)] = ber.counter64(frames)
        self.table[(*DOT3, 3, row)] = ber.counter32(damaged)

    def restart(self, *, base: int = 0, uptime_cs: int = 300) -> None:
        """Boot again: clock and counters from zero, rows perhaps numbered otherwise."""
        self.base, self.uptime_cs = base, uptime_cs
        self.boot()

    def without(self, *columns: Oid) -> None:
        """Forget whole columns."""
        for oid in [o for o in self.table if any(o[: len(c)] == c for c in columns)]:
            del self.table[oid]
