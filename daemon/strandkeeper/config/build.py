"""From the tables of a checked file to the plain values that the rest of the daemon knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, Final

from strandkeeper.config.build_sources import build_tables
from strandkeeper.config.build_telling import build_telling, build_traps
from strandkeeper.config.checks_optics import sent_wavelength, spec_of
from strandkeeper.config.schema import (
    CommunityTable,
    EndTable,
    FileTable,
    LinkTable,
    SwitchTable,
    UsmTable,
)
from strandkeeper.config.thresholds import ThresholdsTable
from strandkeeper.model.enterprise_table import EnterpriseTable
from strandkeeper.model.link import Link, PortEnd, Thresholds
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.plain_text import one_line
from strandkeeper.model.settings import (
    Address,
    Intervals,
    Retention,
    Settings,
    StoreSettings,
)
from strandkeeper.model.switch import (
    CommunityRef,
    PingTarget,
    SecretKind,
    SecretRef,
    SwitchTarget,
    UsmRef,
)
from strandkeeper.optics.fibre import fibre_name
from strandkeeper.optics.units import Db, Dbm

__all__ = ["METRES_PER_FOOT", "build"]

METRES_PER_FOOT: Final = 0.3048  # exact, international foot


def build(table: FileTable, base: Path) -> Settings:
    """The settings; paths are taken relative to `base`, the directory of the file."""
    retention = Retention(
        raw_days=table.retention.raw_days, five_minutes_days=table.retention.five_minutes_days
    )
    tables = build_tables(table.table)
    metrics = Address(host=table.metrics.host, port=table.metrics.port)
    return Settings(
        station=table.station,
        switches=tuple(_switch(s, base, tables, table.link) for s in table.switch),
        links=tuple(_link(x) for x in table.link),
        store=StoreSettings(
            path=str(base / table.store.path), batch_s=table.store.batch_s, retention=retention
        ),
        intervals=Intervals(status_s=table.intervals.status_s, optics_s=table.intervals.optics_s),
        dashboard=Address(host=table.dashboard.host, port=table.dashboard.port),
        behind_proxy=table.dashboard.behind_proxy,
        metrics=metrics if table.metrics.enabled else None,
        thresholds=_thresholds(table.thresholds),
        telling=build_telling(table.target, table.alerts, table.heartbeat, base),
        traps=build_traps(table.traps, {s.name: tuple(s.trap_from) for s in table.switch}),
    )


def _pings(links: Sequence[LinkTable], switch: str) -> tuple[PingTarget, ...]:
    """What is pinged across the links of a switch, at its own ends."""
    return tuple(
        PingTarget(link=LinkName(link.name), end=end, address=table.ping, octets=table.ping_octets)
        for link in links
        for end, table in ((End.A, link.a), (End.B, link.b))
        if table.ping is not None and table.switch == switch
    )


def _switch(
    table: SwitchTable,
    base: Path,
    tables: Mapping[str, EnterpriseTable],
    links: Sequence[LinkTable],
) -> SwitchTarget:
    return SwitchTarget(
        name=SwitchName(table.name),
        host=table.host,
        port=table.port,
        credentials=_credentials(table.snmp, base),
        timeout_s=table.timeout_s,
        retries=table.retries,
        tables=tuple(tables[name] for name in table.tables),
        command=tuple(table.command or ()),
        command_deadline_s=table.command_deadline_s,
        pings=_pings(links, table.name),
    )


def _credentials(snmp: CommunityTable | UsmTable, base: Path) -> CommunityRef | UsmRef:
    if isinstance(snmp, CommunityTable):
        community = _secret(snmp, "community", base)
        if community is None:
            raise ValueError("a community without a place must not pass the checks")
        return CommunityRef(version=snmp.version, community=community)
    return UsmRef(
        user=snmp.user,
        auth_protocol=snmp.auth,
        auth_key=_secret(snmp, "auth_key", base),
        priv_protocol=snmp.priv,
        priv_key=_secret(snmp, "priv_key", base),
        context=snmp.context,
    )


def _secret(snmp: CommunityTable | UsmTable, name: str, base: Path) -> SecretRef | None:
    file = getattr(snmp, f"{name}_file")
    if file is not None:
        return SecretRef(kind=SecretKind.FILE, where=str(base / file))
    env = getattr(snmp, f"{name}_env")
    if env is not None:
        return SecretRef(kind=SecretKind.ENVIRONMENT, where=env)
    credential = getattr(snmp, f"{name}_credential")
    return None if credential is None else SecretRef(kind=SecretKind.CREDENTIAL, where=credential)


def _link(table: LinkTable) -> Link:
    single = table.a.strand or table.b.strand
    return Link(
        name=LinkName(table.name),
        a=_end(table.a, table.b),
        b=_end(table.b, table.a),
        strands=table.strands,
        strand_ab=table.a.strand if table.strands == 2 else single,
        strand_ba=table.b.strand if table.strands == 2 else single,
        length_m=_length_m(table),
        fibre=fibre_name(table.fibre),
        matings=table.matings,
        splices=table.splices,
        extra=Db(table.extra_db),
        extra_note=table.extra_note,
        near=None if table.near is None else End[table.near.upper()],
        behind=None if table.behind is None else LinkName(table.behind),
    )


def _length_m(table: LinkTable) -> float | None:
    if table.length_km is not None:
        return table.length_km * 1000
    if table.length_ft is not None:
        return table.length_ft * METRES_PER_FOOT
    return table.length_m


def _end(table: EndTable, far: EndTable) -> PortEnd:
    spec = spec_of(table)
    return PortEnd(
        name=table.name,
        switch=None if table.switch is None else SwitchName(table.switch),
        port=None if table.port is None else PortName(one_line(table.port)),
        pmd=None if spec is None else spec.name,
        sensitivity=None if table.sensitivity_dbm is None else Dbm(table.sensitivity_dbm),
        overload=None if table.overload_dbm is None else Dbm(table.overload_dbm),
        wavelength_nm=sent_wavelength(table, far),
    )


def _thresholds(table: ThresholdsTable) -> Thresholds:
    """Each field under its own name, or with the unit at the end of it."""
    given: dict[str, Any] = {}
    for field in fields(Thresholds):
        if isinstance(field.default, Db):
            given[field.name] = Db(getattr(table, f"{field.name}_db"))
        else:
            given[field.name] = getattr(table, field.name)
    return Thresholds(**given)
