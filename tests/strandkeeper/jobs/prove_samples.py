"""A link, its readings and an entry, for decisions on what people did."""

from __future__ import annotations

from typing import Any

from strandkeeper.jobs.facts import link_facts
from strandkeeper.jobs.prove import Known
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.reading import Deltas, EndRow, OperStatus, OpticalReading
from strandkeeper.model.settings import Settings, StoreSettings
from strandkeeper.optics.units import Dbm

NOW_MS = 1_750_000_000_000
SHORE = LinkName("shore")


def end(name: str, pmd: str | None = "1000BASE-LX10") -> PortEnd:
    return PortEnd(name=name, switch=SwitchName(name), port=PortName("1"), pmd=pmd)


def link(**more: Any) -> Link:
    given: dict[str, Any] = {
        "name": SHORE,
        "a": end("Lab"),
        "b": end("Pump house"),
        "strand_ab": "blue",
        "strand_ba": "orange",
        "length_m": 800.0,
        **more,
    }
    return Link(**given)


def settings(*links: Link) -> Settings:
    return Settings(station="test", switches=(), links=links, store=StoreSettings(path="x"))


def known(one: Link | None = None, **more: Any) -> Known:
    mine = link() if one is None else one
    facts = {mine.name: link_facts(mine, settings(mine))}
    return Known(links={mine.name: mine}, facts=facts, **more)


def asked(kind: EntryKind, number: int = 1, /, **payload: object) -> StoredEntry:
    return StoredEntry(id=number, entry=Entry(kind=kind, who="me", payload=payload), at_ms=NOW_MS)


def row(
    which: End,
    rx: float | None,
    tx: float,
    *,
    ago_s: float,
    octets: int | None = 0,
    errors: int | None = 0,
) -> EndRow:
    return EndRow(
        time_ms=NOW_MS - round(ago_s * 1000),
        end=which,
        oper=OperStatus.UP,
        optics=OpticalReading(
            rx=NO_LIGHT if rx is None else Measured(Dbm(rx)), tx=Measured(Dbm(tx)), temp_c=20.0
        ),
        deltas=Deltas(in_octets=octets, fcs_errors=errors),
    )


def readings(
    rx_b: float | None, *, from_s: float, to_s: float, rx_a: float = -8.5, **more: Any
) -> list[EndRow]:
    """Both ends every ten seconds, from so long ago to so long ago."""
    rows = []
    ago = from_s
    while ago >= to_s:
        rows.append(row(End.A, rx_a, -6.0, ago_s=ago, **more))
        rows.append(row(End.B, rx_b, -6.5, ago_s=ago, **more))
        ago -= 10
    return rows
