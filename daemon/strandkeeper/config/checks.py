"""What pydantic cannot see: how switches, links and addresses belong together."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from ipaddress import IPv6Address
from typing import Final

from strandkeeper.config.checks_optics import optics_problems
from strandkeeper.config.listening import is_loopback
from strandkeeper.config.problem import Problem, nearest, one_of, place, value_text
from strandkeeper.config.schema import (
    SECRET_WAYS,
    CommunityTable,
    DashboardTable,
    EndTable,
    IntervalsTable,
    LinkTable,
    MetricsTable,
    RetentionTable,
    SwitchTable,
    UsmTable,
)
from strandkeeper.config.thresholds import ThresholdsTable

__all__ = ["interval_problems", "link_problems", "listen_problems", "switch_problems"]


def switch_problems(switches: Sequence[SwitchTable], names: Sequence[str]) -> Iterator[Problem]:
    """Duplicate names (of all switches, also unreadable ones), twice the same agent, secrets."""
    yield from _duplicates("switch", names)
    seen: dict[tuple[str, int, str], str] = {}
    for switch in switches:
        where = f'switch "{switch.name}"'
        yield from _secret_problems(where, switch.snmp)
        yield from _host_problems(where, switch.host)
        context = switch.snmp.context if isinstance(switch.snmp, UsmTable) else ""
        key = (switch.host, switch.port, context)
        first = seen.setdefault(key, switch.name)
        if first != switch.name:
            yield Problem(
                place(where, "host"),
                f'{switch.host}, port {switch.port} is switch "{first}" already; '
                "name that one in the links and remove this one",
            )


def _host_problems(where: str, host: str) -> Iterator[Problem]:
    """A host alone: no port behind a colon, no brackets, no `snmp://`, no blanks."""
    complaint = _host_complaint(host)
    if complaint is not None:
        expected, instead = complaint
        yield Problem(place(where, "host"), f"got {value_text(host)}, expected {expected}", instead)


def _host_complaint(host: str) -> tuple[str, str] | None:
    """What was expected instead of this host, and what to write."""
    name, colon, port = host.rpartition(":")
    bare = name if colon and port.isdigit() and name.endswith("]") else host
    if bare.startswith("[") and bare.endswith("]") and _version_6(bare[1:-1]):
        rest = "" if bare == host else f", and port = {port}"
        return "the address without brackets", f"host = {value_text(bare[1:-1])}{rest}"
    if colon and port.isdigit() and ":" not in name and name:
        return (
            "the host alone; the port has a key of its own",
            f"host = {value_text(name)}, and port = {port}",
        )
    address = _version_6(host)
    if address is not None:
        return _zone_complaint(host, address)
    if any(c in host for c in "/:%[]") or host.split() != [host]:
        return "an address or a host name alone", 'host = "192.0.2.10"'
    return None


def _zone_complaint(host: str, address: IPv6Address) -> tuple[str, str] | None:
    """The address of one network needs its interface, and no other may have one."""
    plain = host.partition("%")[0]
    if address.ipv4_mapped is not None:
        return "the IPv4 address itself", f'host = "{address.ipv4_mapped}"'
    if address.is_link_local and address.scope_id is None:
        return (
            "the interface of this computer too, behind a %: such an address is one of each "
            "network (`ip -6 address` names the interfaces)",
            f"host = {value_text(plain + '%eth0')}",
        )
    if not address.is_link_local and address.scope_id is not None:
        return "no interface behind this address: it is one of all networks", (
            f"host = {value_text(plain)}"
        )
    return None


def _version_6(text: str) -> IPv6Address | None:
    try:
        return IPv6Address(text)
    except ValueError:
        return None


def _duplicates(kind: str, names: Sequence[str]) -> Iterator[Problem]:
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield Problem(
                f'{kind} "{name}"',
                f"{names.count(name)} of this name; every {kind} needs a name of its own",
            )


def _secret_problems(where: str, snmp: CommunityTable | UsmTable) -> Iterator[Problem]:
    here = place(where, "snmp")
    if isinstance(snmp, CommunityTable):
        yield from _one_way(here, "community", snmp, needed=True)
        return
    yield from _one_way(here, "auth_key", snmp, needed=snmp.auth is not None)
    yield from _one_way(here, "priv_key", snmp, needed=snmp.priv is not None)
    if snmp.priv is not None and snmp.auth is None:
        yield Problem(
            place(here, "auth"),
            "missing: SNMPv3 has no privacy without authentication",
            'auth = "SHA-256"',
        )


def _one_way(
    where: str, secret: str, snmp: CommunityTable | UsmTable, *, needed: bool
) -> Iterator[Problem]:
    keys = [f"{secret}_{way}" for way in SECRET_WAYS]
    given = [k for k in keys if getattr(snmp, k) is not None]
    example = f'{keys[0]} = "the-switch.{secret.removesuffix("_key")}"'
    if len(given) > 1:
        yield Problem(where, f"{' and '.join(given)} name the same secret; keep one of them")
    elif needed and not given:
        yield Problem(place(where, secret), f"missing; one of {one_of(keys)}", example)
    elif given and not needed:
        protocol = secret.removesuffix("_key")
        wish = 'auth = "SHA-256"' if protocol == "auth" else 'priv = "AES-128"'
        yield Problem(place(where, protocol), f"missing, but {given[0]} is there", wish)


def link_problems(
    links: Sequence[LinkTable], link_names: Sequence[str], switch_names: Sequence[str]
) -> Iterator[Problem]:
    """Each link by itself, then against the others and the switches."""
    yield from _duplicates("link", link_names)
    ports: dict[tuple[str, str], str] = {}
    for link in links:
        where = f'link "{link.name}"'
        yield from _ends(where, link, switch_names)
        yield from _ports(where, link, ports)
        yield from _length(where, link)
        yield from _behind(where, link, links, link_names)
        yield from optics_problems(where, link)


def _ping_problems(where: str, link: LinkTable) -> Iterator[Problem]:
    """Pings go with the polls of an end's switch, and one at a time over a link."""
    if link.a.ping is not None and link.b.ping is not None:
        yield Problem(
            place(where, "b", "ping"),
            "both ends have one, and a link is pinged from one side; take one of them out",
        )
    for letter, end in (("a", link.a), ("b", link.b)):
        if end.ping is not None and end.switch is None:
            yield Problem(
                place(where, letter, "ping"),
                "this end is on no switch with whose polls it could be pinged",
                'switch = "pump-switch", port = "Gi1"',
            )


def _ends(where: str, link: LinkTable, switch_names: Sequence[str]) -> Iterator[Problem]:
    for letter, end in (("a", link.a), ("b", link.b)):
        yield from _end(place(where, letter), end, switch_names)
    yield from _ping_problems(where, link)
    if link.a.name == link.b.name:
        yield Problem(
            place(where, "b", "name"),
            f"both ends are called {value_text(link.a.name)}; directions could not be told apart",
        )
    if link.a.switch is None and link.b.switch is None:
        yield Problem(
            place(where, "a", "switch"),
            "neither end is on a switch, so nothing can be read",
            'switch = "lab-switch", port = "Gi1"',
        )


def _end(where: str, end: EndTable, switch_names: Sequence[str]) -> Iterator[Problem]:
    if end.switch is not None and end.port is None:
        yield Problem(
            place(where, "port"),
            "missing: which port of the switch (`strandkeeper check` lists them)",
            'port = "Gi1"',
        )
    if end.port is not None and end.switch is None:
        yield Problem(
            place(where, "switch"), "missing: whose port it is", f"switch = {_some(switch_names)}"
        )
    if end.switch is not None and end.switch not in switch_names:
        close = nearest(end.switch, switch_names)
        known = ", ".join(value_text(n) for n in dict.fromkeys(switch_names)) or "none"
        line = f"switch = {value_text(close)}" if close else ""
        yield Problem(
            place(where, "switch"),
            f"no [[switch]] is called {value_text(end.switch)}; there are: {known}",
            line,
        )
    low, high = end.sensitivity_dbm, end.overload_dbm
    if low is not None and high is not None and low >= high:
        yield Problem(
            place(where, "sensitivity_dbm"),
            f"the weakest light it can use ({low:g} dBm) is not weaker than the strongest "
            f"({high:g} dBm); both are negative for most modules",
            f"sensitivity_dbm = {-abs(low):g}" if low > 0 else "",
        )


def _some(names: Sequence[str]) -> str:
    return value_text(names[0]) if names else '"lab-switch"'


def _ports(where: str, link: LinkTable, taken: dict[tuple[str, str], str]) -> Iterator[Problem]:
    for letter, end in (("a", link.a), ("b", link.b)):
        if end.switch is None or end.port is None:
            continue
        here = place(where, letter)
        first = taken.setdefault((end.switch, end.port), here)
        if first != here:
            yield Problem(
                place(here, "port"),
                f'port {end.port} of switch "{end.switch}" is {first} already; '
                "a port has one fibre link",
            )


def _length(where: str, link: LinkTable) -> Iterator[Problem]:
    given = [k for k in ("length_m", "length_km", "length_ft") if getattr(link, k) is not None]
    if len(given) > 1:
        value = getattr(link, given[0])
        yield Problem(
            place(where, given[1]),
            f"the length is given {len(given)} times ({', '.join(given)}); keep one",
            f"{given[0]} = {value:g}",
        )


def _behind(
    where: str, link: LinkTable, links: Sequence[LinkTable], names: Sequence[str]
) -> Iterator[Problem]:
    if link.behind is None:
        return
    here = place(where, "behind")
    others = [n for n in names if n != link.name]
    if link.behind == link.name:
        yield Problem(here, "a link cannot be reached through itself; take the line out")
    elif link.behind not in others:
        close = nearest(link.behind, others)
        known = ", ".join(value_text(n) for n in others) or "no other"
        yield Problem(
            here,
            f"no [[link]] is called {value_text(link.behind)}; there are: {known}",
            f"behind = {value_text(close)}" if close else "",
        )
    elif _goes_round(link, {x.name: x for x in links}):
        yield Problem(
            here,
            "the links are reached through each other in a circle; take the line out of the one "
            "next to this computer",
        )
    elif link.near is None:
        yield Problem(
            place(where, "near"),
            f'missing: which end is towards this computer, behind link "{link.behind}"',
            'near = "a"',
        )


def _goes_round(link: LinkTable, by_name: Mapping[str, LinkTable]) -> bool:
    seen = {link.name}
    step = by_name.get(link.behind or "")
    while step is not None and step.name not in seen:
        seen.add(step.name)
        step = by_name.get(step.behind or "")
    return step is not None and step.name == link.name


def listen_problems(
    dashboard: DashboardTable, metrics: MetricsTable, somebody: Callable[[], bool]
) -> Iterator[Problem]:
    """Addresses: two different ones, open to others only where `somebody` may log in."""
    yield from _open_problems(dashboard, somebody)
    if not is_loopback(metrics.host):
        yield Problem(
            place("metrics", "host"),
            f"got {value_text(metrics.host)}, expected an address of this machine alone: these "
            "figures have no log-in",
            'host = "127.0.0.1"',
        )
    same = (dashboard.host, dashboard.port) == (metrics.host, metrics.port)
    if same and metrics.enabled and metrics.port != 0:
        yield Problem(
            place("metrics", "port"),
            f"port {metrics.port} is the dashboard's already",
            f"port = {9471 if metrics.port == 9470 else 9470}",
        )


def _open_problems(dashboard: DashboardTable, somebody: Callable[[], bool]) -> Iterator[Problem]:
    """What lets others look in needs somebody who may log in."""
    proxy = dashboard.behind_proxy
    if proxy and ("/" in proxy or ":" in proxy or proxy.split() != [proxy]):
        yield Problem(
            place("dashboard", "behind_proxy"),
            f"got {value_text(proxy)}, expected a host name alone",
            'behind_proxy = "station.example"',
        )
    opened = [("host", dashboard.host, not is_loopback(dashboard.host))]
    opened.append(("behind_proxy", proxy, bool(proxy)))
    for key, value, is_open in opened:
        if is_open and not somebody():
            yield Problem(
                place("dashboard", key),
                f"got {value_text(value)}, but nobody may log in yet; add somebody first "
                "(strandkeeper user add CONFIG NAME), or serve to this machine alone",
                'host = "127.0.0.1"' if key == "host" else "",
            )


# pairs of keys of which the first must be below the second
ORDERED: Final = (
    ("reserve_urgent_db", "reserve_warn_db"),
    ("reserve_urgent_anchored_db", "reserve_warn_anchored_db"),
    ("added_loss_note_db", "added_loss_warn_db"),
    ("added_loss_warn_db", "added_loss_urgent_db"),
    ("flap_release", "flap_hold_back"),
    ("temp_low_c", "temp_warn_c"),
    ("temp_warn_c", "temp_urgent_c"),
)


def interval_problems(
    intervals: IntervalsTable, retention: RetentionTable, thresholds: ThresholdsTable
) -> Iterator[Problem]:
    """Figures that must stand in an order."""
    if intervals.optics_s < intervals.status_s:
        yield Problem(
            place("intervals", "optics_s"),
            f"got {intervals.optics_s}, expected at least status_s ({intervals.status_s}): light "
            "is asked for together with the state",
            f"optics_s = {intervals.status_s}",
        )
    if retention.five_minutes_days < retention.raw_days:
        yield Problem(
            place("retention", "five_minutes_days"),
            f"got {retention.five_minutes_days}, expected at least raw_days "
            f"({retention.raw_days}): summaries outlive the readings",
            "five_minutes_days = 730",
        )
    for low, high in ORDERED:
        below, above = getattr(thresholds, low), getattr(thresholds, high)
        if below >= above:
            default = ThresholdsTable.model_fields[high].default
            yield Problem(
                place("thresholds", high),
                f"got {above:g}, expected more than {low} ({below:g})",
                f"{high} = {max(default, below + 1):g}",
            )
