"""The configuration file as pydantic sees it: keys, types, ranges, and a line on each.

Descriptions and examples are read by `explain` (the line to write) and by the tests that keep the
starter file and the README complete. Relations between keys are in `checks`, not here.
"""

from __future__ import annotations

from typing import Annotated, Any, Final, Literal

from pydantic import Field

from strandkeeper.config.source_tables import ColumnTable, SourceTable
from strandkeeper.config.table import Table, key
from strandkeeper.config.telling_tables import (
    AlertsTable,
    HeartbeatTable,
    TargetTable,
    TrapsTable,
)
from strandkeeper.config.thresholds import ThresholdsTable

__all__ = [
    "SECRET_WAYS",
    "ColumnTable",
    "CommunityTable",
    "EndTable",
    "FileTable",
    "LinkTable",
    "SourceTable",
    "SwitchTable",
    "UsmTable",
]

SECRET_WAYS: Final = ("file", "env", "credential")

AuthProtocol = Literal["MD5", "SHA", "SHA-224", "SHA-256", "SHA-384", "SHA-512"]
PrivProtocol = Literal["DES", "3DES", "AES-128", "AES-192", "AES-256", "AES-192-B", "AES-256-B"]


def _secret(what: str, way: str, example: str) -> Any:
    return key(f"{what}: {way}", example, None, min_length=1)


_FILE = "a file that holds nothing else (path relative to this file)"
_ENV = "the name of an environment variable"
_CREDENTIAL = "the name of a systemd credential (LoadCredential=)"


class CommunityTable(Table):
    """SNMP v1 and v2c."""

    version: Literal["1", "2c"] = key('SNMP version: "3", "2c" or "1"', '"2c"')
    community_file: str | None = _secret("the community", _FILE, '"lab-switch.community"')
    community_env: str | None = _secret("the community", _ENV, '"LAB_SWITCH_COMMUNITY"')
    community_credential: str | None = _secret("the community", _CREDENTIAL, '"lab-community"')


class UsmTable(Table):
    """SNMPv3 with the user-based security model (RFC 3414)."""

    version: Literal["3"] = key('SNMP version: "3", "2c" or "1"', '"3"')
    user: str = key("the user's name on the switch", '"watcher"', min_length=1)
    auth: AuthProtocol | None = key("authentication protocol; left out: none", '"SHA-256"', None)
    auth_key_file: str | None = _secret("the authentication key", _FILE, '"lab-switch.auth"')
    auth_key_env: str | None = _secret("the authentication key", _ENV, '"LAB_AUTH"')
    auth_key_credential: str | None = _secret("the authentication key", _CREDENTIAL, '"lab-auth"')
    priv: PrivProtocol | None = key("privacy protocol; left out: none", '"AES-128"', None)
    priv_key_file: str | None = _secret("the privacy key", _FILE, '"lab-switch.priv"')
    priv_key_env: str | None = _secret("the privacy key", _ENV, '"LAB_PRIV"')
    priv_key_credential: str | None = _secret("the privacy key", _CREDENTIAL, '"lab-priv"')
    context: str = key("SNMPv3 context name; hardly any switch wants one", '""', "")


class SwitchTable(Table):
    """[[switch]]: a switch to ask."""

    name: str = key("your name for it, used in [[link]]", '"lab-switch"', min_length=1)
    host: str = key("address or host name", '"192.0.2.10"', min_length=1)
    port: int = key("UDP port of its SNMP agent", "161", 161, ge=1, le=65535)
    snmp: Annotated[CommunityTable | UsmTable, Field(discriminator="version")] = key(
        "how to ask it (table below)",
        '{ version = "3", user = "watcher", auth = "SHA-256", auth_key_file = "lab-switch.auth", '
        'priv = "AES-128", priv_key_file = "lab-switch.priv" }',
    )
    timeout_s: float = key("wait for one answer [s]", "2.0", 2.0, gt=0, le=60)
    retries: int = key("ask again so many times", "1", 1, ge=0, le=5)
    tables: list[str] = key(
        "its tables of light readings, each a [[table]]; left out: the standard sensors alone",
        '["optics"]',
        [],
        max_length=16,
    )
    command: list[str] | None = key(
        "a program of yours and its arguments that writes the light readings as JSON to its stdout",
        '["/usr/local/bin/optics"]',
        None,
        min_length=1,
        max_length=64,
    )
    command_deadline_s: float = key("give it so long [s]", "10", 10.0, ge=0.5, le=25)
    trap_from: list[str] = key(
        "other addresses that its traps may come from", '["192.0.2.11"]', [], max_length=16
    )


class EndTable(Table):
    """One end of a link: a = { ... }, b = { ... }."""

    name: str = key("your name for the place, on every screen", '"Lab"', min_length=1)
    switch: str | None = key(
        "the [[switch]] it is on; left out: nobody can ask this end", '"lab-switch"', None
    )
    port: str | None = key("the port's name as the switch gives it (ifName)", '"Gi1"', None)
    pmd: str | None = key("module type; gives sensitivity and overload", '"1000BASE-LX10"', None)
    sensitivity_dbm: float | None = key(
        "weakest light it can use, from the module's datasheet [dBm]; wins over pmd",
        "-20.0",
        None,
        ge=-60,
        le=10,
    )
    overload_dbm: float | None = key(
        "strongest light it can use, from the datasheet [dBm]; wins over pmd",
        "-3.0",
        None,
        ge=-40,
        le=30,
    )
    wavelength_nm: int | None = key("what it sends [nm]", "1310", None, ge=600, le=1700)
    strand: str = key("colour or number of the strand it sends on", '"blue"', "")
    ping: str | None = key(
        "an address at this end to ping across the link, a small and a large one in turn, as "
        "evidence where no light is reported; left out: none",
        '"192.0.2.20"',
        None,
        min_length=1,
    )
    ping_octets: int = key("octets of the large ping", "1400", 1400, ge=100, le=9000)


class LinkTable(Table):
    """[[link]]: a fibre link to watch."""

    name: str = key("your name for it", '"Lab to pump house"', min_length=1)
    a: EndTable = key("one end", '{ name = "Lab", switch = "lab-switch", port = "Gi1" }')
    b: EndTable = key(
        "the other end", '{ name = "Pump house", switch = "pump-switch", port = "Gi1" }'
    )
    near: Literal["a", "b"] | None = key(
        "the end this computer is at: the other switch is reached through this link", '"a"', None
    )
    behind: str | None = key(
        "the other link through which this one's switches are reached", '"Lab to pump house"', None
    )
    strands: Literal[1, 2] = key(
        "2: one fibre each way; 1: both ways on one fibre, two wavelengths", "2", 2
    )
    length_m: float | None = key("cable length [m]", "900", None, gt=0, le=400_000)
    length_km: float | None = key("cable length [km], instead", "0.9", None, gt=0, le=400)
    length_ft: float | None = key("cable length [ft], instead", "2950", None, gt=0, le=1_300_000)
    fibre: str = key("fibre type", '"G.652.D"', "G.652.D", min_length=1)
    matings: int = key("connections in each strand, both ends included", "4", 2, ge=0, le=100)
    splices: int = key("splices in each strand", "0", 0, ge=0, le=1000)
    extra_db: float = key("other planned loss, such as an attenuator [dB]", "0.0", 0.0, ge=0, le=60)
    extra_note: str = key("what that is", '"5 dB attenuator at the lab"', "")


class StoreTable(Table):
    """[store]: the record."""

    path: str = key(
        "the record file (relative to this file)",
        '"strandkeeper.db"',
        "strandkeeper.db",
        min_length=1,
    )
    batch_s: float = key("write at least so often [s]", "20", 20.0, ge=1, le=300)


class RetentionTable(Table):
    """[retention]: how long it is kept."""

    raw_days: int = key("keep every reading [days]", "30", 30, ge=2, le=3650)
    five_minutes_days: int = key(
        "keep 5-minute summaries [days]; hourly ones stay for ever", "730", 730, ge=2, le=36500
    )


class IntervalsTable(Table):
    """[intervals]: how often to ask."""

    status_s: int = key("ask for state and counters every [s]", "10", 10, ge=1, le=3600)
    optics_s: int = key("ask for light every [s]", "30", 30, ge=1, le=3600)


class DashboardTable(Table):
    """[dashboard]: the pages."""

    host: str = key("address of this machine to serve on", '"127.0.0.1"', "127.0.0.1", min_length=1)
    port: int = key("TCP port; 0: any free one", "8080", 8080, ge=0, le=65535)
    behind_proxy: str = key(
        "host name under which a reverse proxy on this machine serves the pages",
        '"station.example"',
        "",
    )


class MetricsTable(Table):
    """[metrics]: figures for Prometheus."""

    enabled: bool = key("serve /metrics and /healthz", "true", True)
    host: str = key("address of this machine to serve on", '"127.0.0.1"', "127.0.0.1", min_length=1)
    port: int = key("TCP port; 0: any free one", "9470", 9470, ge=0, le=65535)


class FileTable(Table):
    """The whole file."""

    station: str = key("name of the place, shown on every page", '"Shore station"', "My station")
    switch: list[SwitchTable] = key("the switches to ask", "[[switch]]", min_length=1)
    link: list[LinkTable] = key("the fibre links to watch", "[[link]]", [])
    table: list[SourceTable] = key("tables of light readings, described", "[[table]]", [])
    store: StoreTable = key("the record", "[store]", StoreTable())
    retention: RetentionTable = key("how long it is kept", "[retention]", RetentionTable())
    intervals: IntervalsTable = key("how often to ask", "[intervals]", IntervalsTable())
    dashboard: DashboardTable = key("the pages", "[dashboard]", DashboardTable())
    metrics: MetricsTable = key("figures for Prometheus", "[metrics]", MetricsTable())
    thresholds: ThresholdsTable = key("when to speak", "[thresholds]", ThresholdsTable())
    target: list[TargetTable] = key("who is told", "[[target]]", [])
    alerts: AlertsTable = key("what holds for all targets", "[alerts]", AlertsTable())
    heartbeat: HeartbeatTable | None = key("a sign of life", "[heartbeat]", None)
    traps: TrapsTable = key("notifications of the switches", "[traps]", TrapsTable())
