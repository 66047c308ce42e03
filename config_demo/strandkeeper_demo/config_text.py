"""The demo's configuration, written to be read: what a person would write for such a station."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper_demo.scenario import STATION, Scenario
from strandkeeper_demo.station import Community, Switch

__all__ = ["Ports", "config_text", "write_secrets"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ports:
    """The ports this demo uses on this computer; `metrics` 0: any free one."""

    dashboard: int
    metrics: int
    snmp: int


REMARKS_AT = 34

REMARKS_AT = 31

HEAD = """\
# The demo of Strandkeeper: an invented field station, simulated on this computer.
# Nothing here is real: neither the place nor the cable, the switches or what befell them.
#
# This file is written anew each time the demo starts. To build your own from it, copy it, put in
# the addresses of your two switches and what you know of your cable, and ask:
#     strandkeeper check your-station.toml

station = {station}

[store]
path = {record}  # the record of every reading, beside this file
batch_s = {batch_s:g}  # write at least every so many seconds; 20 is kinder to a disk

[intervals]
status_s = 5  # ask for state and counters every so many seconds (usually 10)
optics_s = 10  # ask for light every so many seconds (usually 30)

[dashboard]
host = "127.0.0.1"  # this computer alone
port = {dashboard}

[metrics]
host = "127.0.0.1"  # figures for Prometheus; port 0 is any free one
port = {metrics}

# ---- The switches. Strandkeeper only ever reads from them. ----
# Passwords are not written here: each is in a file of its own, beside this one.
"""

COMMUNITY = """
[[switch]]
name = {name}
host = {host}
port = {port}  # simulated; a real switch answers on 161
snmp = {{ version = "2c", community_file = {community} }}
"""

USER = """
# This one speaks SNMPv3: who asks must prove it, and nobody on the way can read along.
[[switch]]
name = {name}
host = {host}
port = {port}

[switch.snmp]
version = "3"
user = {user}
auth = "SHA-256"
auth_key_file = {auth}
priv = "AES-128"
priv_key_file = {priv}
"""

LINK = """
[[link]]
name = {name}
strands = {strands}  # {strands_note}
length_m = {length}
fibre = {fibre}
matings = {matings}  # plug meets plug: {matings_note}
near = "a"  # the end this computer is at
{ends}"""

END = """
[link.{end}]
name = {name}
switch = {switch}
port = {port}  # as the switch itself calls it
pmd = {pmd}  # module type: gives the weakest and strongest light it can use
strand = {strand}
"""

LINKS_HEAD = """
# ---- The links: which port is joined to which, and what is known of the cable between. ----
"""


def config_text(scenario: Scenario, ports: Ports, *, record: str, batch_s: float = 2.0) -> str:
    """The whole file (TOML)."""
    head = HEAD.format(
        station=_quoted(STATION),
        record=_quoted(record),
        batch_s=batch_s,
        dashboard=ports.dashboard,
        metrics=ports.metrics,
    )
    switches = "".join(_switch(switch, ports.snmp) for switch in scenario.switches)
    links = "".join(_link(scenario, link) for link in scenario.links)
    return _aligned(head + switches + LINKS_HEAD + links)


def _aligned(text: str) -> str:
    """The same lines with the remarks behind the values one below the other."""
    lines = []
    for line in text.splitlines():
        value, mark, remark = line.partition("  # ")
        lines.append(f"{value.rstrip():<{REMARKS_AT}} # {remark.strip()}" if mark else line)
    return "\n".join(lines) + "\n"


def write_secrets(scenario: Scenario, directory: Path) -> None:
    """Write the files with the passwords, for their owner's eyes alone."""
    for switch in scenario.switches:
        for name, text in _secrets(switch).items():
            path = directory / name
            path.touch(mode=0o600)
            path.chmod(0o600)
            path.write_text(text + "\n", encoding="utf-8")


def _secrets(switch: Switch) -> dict[str, str]:
    if isinstance(switch.access, Community):
        return {f"{switch.name}.community": switch.access.text}
    return {
        f"{switch.name}.auth": switch.access.auth_key,
        f"{switch.name}.priv": switch.access.priv_key,
    }


def _switch(switch: Switch, port: int) -> str:
    name, host = _quoted(switch.name), _quoted(switch.address)
    files = [_quoted(file) for file in _secrets(switch)]
    if isinstance(switch.access, Community):
        return COMMUNITY.format(name=name, host=host, port=port, community=files[0])
    user = _quoted(switch.access.name)
    return USER.format(name=name, host=host, port=port, user=user, auth=files[0], priv=files[1])


def _link(scenario: Scenario, link: Link) -> str:
    single = link.strands == 1
    return LINK.format(
        name=_quoted(link.name),
        strands=link.strands,
        strands_note="both ways on one strand, at two wavelengths"
        if single
        else "one strand each way",
        length=f"{link.length_m:g}",
        fibre=_quoted(link.fibre),
        matings=link.matings,
        matings_note="module and panel, at either end",
        ends="".join(_end(scenario, link, end) for end in End),
    )


def _end(scenario: Scenario, link: Link, end: End) -> str:
    description = link.end(end)
    if description.switch is None or description.port is None:
        return ""
    module = scenario.switch(description.switch).port(description.port).module
    return END.format(
        end=end.name.lower(),
        name=_quoted(description.name),
        switch=_quoted(description.switch),
        port=_quoted(description.port),
        pmd=_quoted(module.pmd if module else ""),
        strand=_quoted(link.strand(Direction.AB if end is End.A else Direction.BA)),
    )


def _quoted(text: str) -> str:
    """A TOML basic string; JSON's strings are such."""
    return json.dumps(text, ensure_ascii=False)
