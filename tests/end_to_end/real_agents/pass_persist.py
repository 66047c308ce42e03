"""Answers Net-SNMP's pass_persist questions out of a file of rows; run by snmpd, not by pytest.

    python pass_persist.py FILE BASE

FILE has one row a line, `OID TYPE VALUE`, and is read anew for every question, so that a test
changes what the switch says by replacing the file. Only rows under BASE are given.
Source: snmpd.conf(5), "MIB-Specific Extension Commands", pass_persist.
"""

from __future__ import annotations

import sys
from pathlib import Path

Row = tuple[tuple[int, ...], str, str]


def arcs(oid: str) -> tuple[int, ...]:
    """The numbers of a dotted OID, with or without a leading dot."""
    return tuple(int(arc) for arc in oid.strip().strip(".").split("."))


def rows(path: Path, base: tuple[int, ...]) -> list[Row]:
    """The file's rows under `base`, in the order a walk gives them."""
    found = []
    for line in path.read_text(encoding="utf-8").splitlines():
        oid, kind, value = line.split(" ", 2)
        if arcs(oid)[: len(base)] == base:
            found.append((arcs(oid), kind, value))
    return sorted(found)


def answer(row: Row | None) -> str:
    """Three lines for a row, one word for none."""
    if row is None:
        return "NONE"
    return f".{'.'.join(map(str, row[0]))}\n{row[1]}\n{row[2]}"


def main() -> None:
    """Answer until snmpd closes the pipe."""
    path, base = Path(sys.argv[1]), arcs(sys.argv[2])
    for line in iter(sys.stdin.readline, ""):
        command = line.strip()
        if command == "PING":
            reply = "PONG"
        elif command in {"get", "getnext"}:
            asked = arcs(sys.stdin.readline())
            table = rows(path, base)
            hits = (r for r in table if (r[0] == asked if command == "get" else r[0] > asked))
            reply = answer(next(hits, None))
        else:
            reply = "NONE"
        print(reply, flush=True)


if __name__ == "__main__":
    main()
