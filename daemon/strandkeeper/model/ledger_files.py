"""The ledger as CSV and as JSON, both ways; what was measured and done at it, out only. Texts.

CSV has one kind a file: strands, meter readings, or work. JSON has everything:

    {"schema": 1, "cables": [...], "strands": [...], "readings": [...], "works": [...]}

`readings` and `works` are what happened: they go out and are not taken in again. A work is as
rework_json has it.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Any, Final

from strandkeeper.errors import InputError
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.meter_reading import MeterReading
from strandkeeper.model.names import End
from strandkeeper.model.plain_text import defused, one_line, undefused
from strandkeeper.model.rework import Rework
from strandkeeper.model.rework_json import rework_to_json
from strandkeeper.model.times import iso_utc
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "CABLE_FIELDS",
    "SCHEMA",
    "STRAND_FIELDS",
    "cable_to_json",
    "from_csv",
    "from_json",
    "readings_to_csv",
    "strand_to_json",
    "to_csv",
    "to_json",
    "to_object",
    "works_to_csv",
]

SCHEMA: Final = 1
CABLE_FIELDS: Final = ("name", "strands", "length_m", "fibre", "a", "b", "note")
STRAND_FIELDS: Final = (
    "cable",
    "number",
    "label",
    "use",
    "link",
    "direction",
    "slack_a_m",
    "slack_b_m",
    "attempts_a",
    "attempts_b",
    "tested",
    "tested_loss_db",
    "note",
)
_READING_FIELDS: Final = (
    "id",
    "at",
    "who",
    "kind",
    "link",
    "direction",
    "end",
    "cable",
    "strand",
    "source",
    "wavelength_nm",
    "cords",
    "reference_dbm",
    "reading_dbm",
    "loss_db",
    "uncertainty_db",
    "limit_db",
    "verdict",
    "reported_dbm",
    "note",
)
_WORK_FIELDS: Final = (
    "id",
    "link",
    "started",
    "finished",
    "who",
    "what",
    "why",
    "direction",
    "end",
    "cable",
    "strand",
    "worth_ab",
    "change_ab_db",
    "worth_ba",
    "change_ba_db",
    "accepted",
    "note",
)
_WHOLE: Final = ("number", "attempts_a", "attempts_b")
_FIGURES: Final = ("slack_a_m", "slack_b_m", "tested_loss_db")
_EMPTY_IS_NULL: Final = ("link", "direction", "slack_a_m", "slack_b_m", "tested", "tested_loss_db")


def strand_to_json(strand: Strand) -> dict[str, Any]:
    """Its fields as an entry of the ledger takes them; null where it is not known."""
    a, b = strand.end(End.A), strand.end(End.B)
    return {
        "cable": strand.cable,
        "number": strand.number,
        "label": strand.label,
        "use": strand.use.value,
        "link": strand.link,
        "direction": None if strand.direction is None else strand.direction.value,
        "slack_a_m": a.slack_m,
        "slack_b_m": b.slack_m,
        "attempts_a": a.attempts,
        "attempts_b": b.attempts,
        "tested": None if strand.tested_ms is None else iso_utc(strand.tested_ms),
        "tested_loss_db": None if strand.tested_loss is None else strand.tested_loss.value,
        "note": strand.note,
    }


def cable_to_json(cable: Cable) -> dict[str, Any]:
    """Its fields as an entry of the ledger takes them."""
    return {
        "name": cable.name,
        "strands": cable.strands,
        "length_m": cable.length_m,
        "fibre": cable.fibre,
        "a": cable.a,
        "b": cable.b,
        "note": cable.note,
    }


def _reading(reading: MeterReading) -> dict[str, Any]:
    return {
        "id": reading.id,
        "at": iso_utc(reading.at_ms),
        "who": reading.who,
        "kind": reading.kind.value,
        "link": reading.link,
        "direction": reading.direction,
        "end": None if reading.end is None else reading.end.name,
        "cable": reading.cable,
        "strand": reading.strand,
        "source": reading.source,
        "wavelength_nm": reading.wavelength_nm,
        "cords": reading.cords,
        "reference_dbm": _figure(reading.reference),
        "reading_dbm": reading.reading.value,
        "loss_db": _figure(reading.loss),
        "uncertainty_db": reading.uncertainty.value,
        "limit_db": _figure(reading.limit),
        "verdict": None if reading.verdict is None else reading.verdict.value,
        "reported_dbm": _figure(reading.reported),
        "note": reading.note,
    }


def _figure(value: Db | Dbm | None) -> float | None:
    return None if value is None else round(value.value, 3)


def _work(work: Rework) -> dict[str, Any]:
    whole = rework_to_json(work)
    found = {name: whole.get(name) for name in _WORK_FIELDS}
    for way, report in work.reports.items():
        change = report.verdict.change
        found[f"worth_{way}"] = report.verdict.worth.value
        found[f"change_{way}_db"] = None if change is None else round(change.value, 3)
    return found


def to_object(
    cables: Sequence[Cable],
    strands: Sequence[Strand],
    readings: Sequence[MeterReading] = (),
    works: Sequence[Rework] = (),
) -> dict[str, Any]:
    """Everything, as an object of JSON."""
    return {
        "schema": SCHEMA,
        "cables": [cable_to_json(c) for c in cables],
        "strands": [strand_to_json(s) for s in strands],
        "readings": [_reading(r) for r in readings],
        "works": [rework_to_json(w) for w in works],
    }


def to_json(
    cables: Sequence[Cable],
    strands: Sequence[Strand],
    readings: Sequence[MeterReading] = (),
    works: Sequence[Rework] = (),
) -> str:
    """Everything, as `from_json` takes its cables and strands."""
    whole = to_object(cables, strands, readings, works)
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def from_json(text: str) -> dict[str, object]:
    """What `to_json` wrote, or a part of it. Raises InputError."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"that is not JSON: {error}", hint="see `cable export --json`") from error
    if not isinstance(data, dict) or data.get("schema", SCHEMA) != SCHEMA:
        raise InputError("that is not a ledger of schema 1", hint="see `cable export --json`")
    return {key: data[key] for key in ("cables", "strands") if key in data}


def to_csv(strands: Sequence[Strand]) -> str:
    """A header and a row a strand; cells that are not known are empty."""
    return _csv(STRAND_FIELDS, [strand_to_json(s) for s in strands])


def readings_to_csv(readings: Sequence[MeterReading]) -> str:
    """A header and a row a meter reading. `cords` is the method: compare only what has the same."""
    return _csv(_READING_FIELDS, [_reading(r) for r in readings])


def works_to_csv(works: Sequence[Rework]) -> str:
    """A header and a row a piece of work: what it was worth each way, positive is more loss."""
    return _csv(_WORK_FIELDS, [_work(w) for w in works])


def _csv(fields: Sequence[str], rows: Sequence[dict[str, Any]]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, fields, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({k: _cell(v) for k, v in row.items()})
    return out.getvalue()


def _cell(value: object) -> object:
    if isinstance(value, str):
        return defused(one_line(value))
    return "" if value is None else value


def from_csv(text: str) -> dict[str, object]:
    """Strands by the columns that are there; cables must be known or come as JSON.

    Raises InputError with the line.
    """
    try:
        return _strands(csv.DictReader(io.StringIO(text)))
    except csv.Error as error:
        raise InputError(f"this is no CSV: {error}", hint="save it anew as CSV, UTF-8") from error


def _strands(reader: csv.DictReader[str]) -> dict[str, object]:
    unknown = [c for c in reader.fieldnames or [] if c not in STRAND_FIELDS]
    if unknown or not reader.fieldnames:
        raise InputError(
            f"unknown column {unknown[0]!r}" if unknown else "the file is empty",
            hint=f"the columns are {', '.join(STRAND_FIELDS)}",
        )
    return {"strands": [_row(row, reader.line_num) for row in reader]}


def _row(row: dict[str, str | None], line: int) -> dict[str, object]:
    found: dict[str, object] = {}
    for name, cell in row.items():
        if name is None or cell is None:
            raise InputError(f"line {line} has another number of cells than the header")
        if cell == "" and name in _EMPTY_IS_NULL:
            found[name] = None
        elif cell or name in ("label", "note"):
            found[name] = _value(name, cell, line)
    return found


def _value(name: str, cell: str, line: int) -> object:
    try:
        if name in _WHOLE:
            return int(cell)
        return float(cell) if name in _FIGURES else undefused(cell)
    except ValueError as error:
        raise InputError(f"line {line}: {name} is {cell!r}", hint="it must be a number") from error
