"""The ledger as CSV (strands, one a row) and as JSON (cables and strands), both ways."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Any, Final

from strandkeeper.errors import InputError
from strandkeeper.jobs.prove_ledger import STRAND_FIELDS
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.names import End
from strandkeeper.model.times import iso_utc

__all__ = ["SCHEMA", "from_csv", "from_json", "to_csv", "to_json"]

SCHEMA: Final = 1
_WHOLE: Final = ("number", "attempts_a", "attempts_b")
_FIGURES: Final = ("slack_a_m", "slack_b_m", "tested_loss_db")
_EMPTY_IS_NULL: Final = ("link", "direction", "slack_a_m", "slack_b_m", "tested", "tested_loss_db")


def _strand(strand: Strand) -> dict[str, Any]:
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


def _cable(cable: Cable) -> dict[str, Any]:
    return {
        "name": cable.name,
        "strands": cable.strands,
        "length_m": cable.length_m,
        "fibre": cable.fibre,
        "a": cable.a,
        "b": cable.b,
        "note": cable.note,
    }


def to_json(cables: Sequence[Cable], strands: Sequence[Strand]) -> str:
    """{"schema": 1, "cables": [...], "strands": [...]}, as `import` takes it."""
    whole = {
        "schema": SCHEMA,
        "cables": [_cable(c) for c in cables],
        "strands": [_strand(s) for s in strands],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def from_json(text: str) -> dict[str, object]:
    """What `to_json` wrote, or a part of it. Raises InputError."""
    try:
        data = json.loads(text)
    except ValueError as error:
        raise InputError(f"that is not JSON: {error}", hint="see `cable export --json`") from error
    if not isinstance(data, dict) or data.get("schema", SCHEMA) != SCHEMA:
        raise InputError("that is not a ledger of schema 1", hint="see `cable export --json`")
    return {key: data[key] for key in ("cables", "strands") if key in data}


def to_csv(strands: Sequence[Strand]) -> str:
    """A header and a row a strand; cells that are not known are empty."""
    out = io.StringIO()
    writer = csv.DictWriter(out, STRAND_FIELDS, lineterminator="\n")
    writer.writeheader()
    for strand in strands:
        writer.writerow({k: "" if v is None else v for k, v in _strand(strand).items()})
    return out.getvalue()


def from_csv(text: str) -> dict[str, object]:
    """Strands by the columns that are there; cables must be known or come as JSON.

    Raises InputError with the line.
    """
    reader = csv.DictReader(io.StringIO(text))
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
        return float(cell) if name in _FIGURES else cell
    except ValueError as error:
        raise InputError(f"line {line}: {name} is {cell!r}", hint="it must be a number") from error
