"""Every row that went to the store of tests/bench/soak.py, and plain arithmetic over it."""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from strandkeeper.model.names import LinkName
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.reading import (
    COUNTER_NAMES,
    EndRow,
)

FIVE_MINUTES_MS: Final = 300_000
HOUR_MS: Final = 3_600_000
DAY_MS: Final = 86_400_000
GAP_MS: Final = 90_000  # a state stands no longer than this for the time before its row

End_ = tuple[str, int]
Cells = dict[str, int | None]
Key = tuple[End_, int]  # an end, and when its period begins [ms]


class Ledger:
    """Every row handed to the store, in whole units of the store's scale, in a file."""

    def __init__(self, path: Path) -> None:
        self._file = path.open("w", newline="")
        self._out = csv.writer(self._file)

    def add(self, rows: Iterable[tuple[LinkName, EndRow]]) -> None:
        self._out.writerows(_plain(link, row) for link, row in rows)

    def close(self) -> None:
        self._file.close()


def _power(power: Power | None) -> tuple[str, int | None]:
    if power is None:
        return "", None
    if isinstance(power, Measured):
        return "light", round(power.power.value * 1000)
    return ("none" if isinstance(power, NoLight) else "unreported"), None


def _plain(link: LinkName, row: EndRow) -> list[object]:
    light = row.optics
    rx, tx = (None, None) if light is None else (light.rx, light.tx)
    figures: list[int | None] = [None, None, None]
    if light is not None:
        given = ((light.bias_ma, 1000), (light.temp_c, 100), (light.vcc_v, 10_000))
        figures = [None if value is None else round(value * scale) for value, scale in given]
    state = None if row.oper is None else int(row.oper)
    counts = [getattr(row.deltas, name) for name in COUNTER_NAMES]
    answered = int(row.answered)
    return [
        link,
        int(row.end),
        row.time_ms,
        answered,
        *_power(rx),
        *_power(tx),
        *figures,
        state,
        row.uptime_cs,
        *counts,
    ]


@dataclass
class Row:
    """One line of the ledger."""

    end: End_
    time_ms: int
    answered: bool
    powers: dict[str, tuple[str, int | None]]
    figures: dict[str, int | None]
    oper: int | None
    uptime_cs: int | None
    counts: dict[str, int | None]


def read_ledger(path: Path) -> list[Row]:
    """Every row, in the order in which it was handed over."""

    def number(text: str) -> int | None:
        return int(text) if text else None

    found = []
    with path.open(newline="") as lines:
        for c in csv.reader(lines):
            figures = zip(("bias_ua", "temp_cc", "vcc_100uv"), c[8:11], strict=True)
            counts = zip(COUNTER_NAMES, c[13:], strict=True)
            found.append(
                Row(
                    end=(c[0], int(c[1])),
                    time_ms=int(c[2]),
                    answered=c[3] == "1",
                    powers={"rx": (c[4], number(c[5])), "tx": (c[6], number(c[7]))},
                    figures={name: number(text) for name, text in figures},
                    oper=number(c[11]),
                    uptime_cs=number(c[12]),
                    counts={name: number(text) for name, text in counts},
                )
            )
    return found


def plain_sums(rows: Iterable[Row], span_ms: int) -> dict[Key, Cells]:
    """What a summary over `span_ms` must say, computed without SQL."""
    periods: dict[Key, list[tuple[Row, int]]] = defaultdict(list)
    before: dict[End_, int] = {}
    for row in rows:
        since = row.time_ms - before.get(row.end, -(1 << 50))
        before[row.end] = row.time_ms
        periods[row.end, row.time_ms // span_ms * span_ms].append(
            (row, since if since <= GAP_MS else 0)
        )
    return {key: _sum(inside) for key, inside in periods.items()}


def _sum(inside: list[tuple[Row, int]]) -> Cells:
    rows = [row for row, _ in inside]
    cells: Cells = {"n": len(rows), "silent": sum(not row.answered for row in rows)}
    for name in ("rx", "tx"):
        kinds = [row.powers[name][0] for row in rows]
        cells[f"{name}_no_light"] = kinds.count("none")
        cells[f"{name}_not_reported"] = kinds.count("unreported")
        cells |= _spread(name, "mdbm", [row.powers[name][1] for row in rows])
    for figure in ("bias_ua", "temp_cc", "vcc_100uv"):
        name, _, unit = figure.partition("_")
        cells |= _spread(name, unit, [row.figures[figure] for row in rows])
    for name in COUNTER_NAMES:
        known = [n for row in rows if (n := row.counts[name]) is not None]
        cells[name] = sum(known) if known else None
        cells[f"{name}_unknown"] = sum(row.answered and row.counts[name] is None for row in rows)
    states = [(row.oper, since) for row, since in inside if row.oper not in (None, 4)]
    cells["watched_ms"] = sum(since for _, since in states)
    cells["down_ms"] = sum(since for oper, since in states if oper != 1)
    cells["uptime_max_cs"] = max(
        (row.uptime_cs for row in rows if row.uptime_cs is not None), default=None
    )
    return cells


def _spread(name: str, unit: str, values: Iterable[int | None]) -> Cells:
    known = [value for value in values if value is not None]
    return {
        f"{name}_n": len(known),
        f"{name}_min_{unit}": min(known, default=None),
        f"{name}_max_{unit}": max(known, default=None),
        f"{name}_sum_{unit}": sum(known) if known else None,
    }
