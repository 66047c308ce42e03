"""The configuration file that a person would write for the station."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from real_agents.agent import COMMUNITY, User
from real_agents.station import FIBRE

__all__ = [
    "LINK",
    "METRICS_PORT",
    "LinkEntry",
    "Plan",
    "SwitchEntry",
    "community",
    "usm",
    "write_configuration",
]

LINK: Final = "shore cable"
METRICS_PORT: Final = 9470  # in the desk namespace, which no other run shares

_THRESHOLDS: Final = {
    "no_answer_misses": 3,
    "no_answer_s": 10,
    "clear_steady_s": 2,
    "link_down_tell_s": 1,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchEntry:
    """One [[switch]]; `snmp` is the inline table of its credentials."""

    name: str
    host: str
    snmp: str
    port: int = 161
    timeout_s: float = 1.0
    retries: int = 1

    def toml(self) -> str:
        return (
            f'[[switch]]\nname = "{self.name}"\nhost = "{self.host}"\nport = {self.port}\n'
            f"snmp = {self.snmp}\ntimeout_s = {self.timeout_s}\nretries = {self.retries}\n"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkEntry:
    """One [[link]]; `a` and `b` hold what stands in an end's table besides name, switch, port."""

    name: str = LINK
    switches: tuple[str, str] = ("lab", "pump")
    ports: tuple[str, str] = (FIBRE, FIBRE)
    a: str = "sensitivity_dbm = -24.0, overload_dbm = -3.0"
    b: str = 'pmd = "1000BASE-LX10"'
    near: str | None = "a"

    def toml(self) -> str:
        near = f'near = "{self.near}"\n' if self.near else ""
        ends = self._end("a", "Lab", 0, self.a) + self._end("b", "Pump house", 1, self.b)
        return f'[[link]]\nname = "{self.name}"\nlength_m = 900\n{near}{ends}'

    def _end(self, key: str, place: str, which: int, more: str) -> str:
        cells = [
            f'name = "{place}"',
            f'switch = "{self.switches[which]}"',
            f'port = "{self.ports[which]}"',
        ]
        return f"{key} = {{ {', '.join([*cells, more] if more else cells)} }}\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything else in the file."""

    directory: Path
    switches: Sequence[SwitchEntry]
    links: Sequence[LinkEntry] = field(default_factory=lambda: [LinkEntry()])
    store: str = "record.db"
    batch_s: float = 2.0
    status_s: int = 1
    optics_s: int = 2


def community(directory: Path, text: str = COMMUNITY, *, version: str = "2c") -> str:
    """Credentials of SNMP v1 or v2c, the community in a file."""
    return f'{{ version = "{version}", community_file = "{_secret(directory, text)}" }}'


def usm(directory: Path, user: User, *, auth: str = "SHA-256", priv: str = "AES-128") -> str:
    """Credentials of SNMPv3, both keys in files; the protocols by the names of our file."""
    return (
        f'{{ version = "3", user = "{user.name}", '
        f'auth = "{auth}", auth_key_file = "{_secret(directory, user.auth_key)}", '
        f'priv = "{priv}", priv_key_file = "{_secret(directory, user.priv_key)}" }}'
    )


def _secret(directory: Path, text: str) -> Path:
    path = directory / f"secret-{len(list(directory.glob('secret-*')))}"
    path.touch(mode=0o600)
    path.write_text(f"{text}\n", encoding="utf-8")
    return path


def write_configuration(plan: Plan) -> Path:
    """Write the file and return its path."""
    thresholds = "".join(f"{name} = {value}\n" for name, value in _THRESHOLDS.items())
    parts = [
        'station = "Two agents and a cable"\n',
        f'[store]\npath = "{plan.store}"\nbatch_s = {plan.batch_s}\n',
        f'[metrics]\nhost = "127.0.0.1"\nport = {METRICS_PORT}\n',
        f"[intervals]\nstatus_s = {plan.status_s}\noptics_s = {plan.optics_s}\n",
        f"[thresholds]\n{thresholds}",
        *(entry.toml() for entry in plan.switches),
        *(entry.toml() for entry in plan.links),
    ]
    path = plan.directory / "station.toml"
    path.write_text("\n".join(parts), encoding="utf-8")
    return path
