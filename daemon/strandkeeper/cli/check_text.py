"""What a switch answered and what that means for a link, as lines for a person. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from strandkeeper.alerts import wording
from strandkeeper.analysis.margin import margin
from strandkeeper.config.problem import nearest
from strandkeeper.jobs.ask_switch import PortReport, SwitchReport
from strandkeeper.jobs.facts import link_facts
from strandkeeper.model.link import DirectionFacts, LimitOrigin, Link
from strandkeeper.model.names import Direction, End, SwitchName
from strandkeeper.model.power import Measured, NoLight, Power
from strandkeeper.model.reading import AdminStatus, OperStatus
from strandkeeper.model.settings import Settings
from strandkeeper.model.switch import CommunityRef, SwitchTarget

__all__ = ["link_lines", "port_problems", "summary", "switch_lines"]

Reports = Mapping[SwitchName, SwitchReport]

_PORTS_SHOWN: Final = 40
_ORIGIN: Final = {
    LimitOrigin.OWNER: "",
    LimitOrigin.PMD_NAMED: "by the module type you named: ",
    LimitOrigin.PMD_RECOGNISED: "by the module type that was recognised: ",
    LimitOrigin.UNKNOWN: "",
}


def summary(path: str, settings: Settings) -> str:
    """The first line: the file could be read, and what is in it."""
    switches, links = len(settings.switches), len(settings.links)
    return (
        f"{path} is in order: {settings.station}, "
        f"{switches} {'switch' if switches == 1 else 'switches'}, "
        f"{links} {'link' if links == 1 else 'links'}."
    )


def switch_lines(target: SwitchTarget, report: SwitchReport | None, closed: str) -> list[str]:
    """One switch: who it says it is, and each configured port; or why there is nothing to say."""
    lines = [f"Switch {target.name} ({target.host} port {target.port}, {_asked_as(target)})"]
    if report is None:
        return [*lines, f"  was not asked: {closed}"]
    if not report.answered:
        return [*lines, f"  {report.error}", f"  {report.hint}"]
    lines.append(f"  {_identity(report)}")
    if report.power is not None and report.power.words:
        lines.append(f"  {report.power.words}")
    for port in report.ports:
        lines += [f"  {line}" for line in _port_lines(port, report)]
    if not report.ports:
        lines.append(f"  No link uses it. Ports there are: {_ports(report)}")
    return lines


def _asked_as(target: SwitchTarget) -> str:
    held = target.credentials
    if isinstance(held, CommunityRef):
        return f"SNMP v{held.version}"
    return f'SNMP v3, user "{held.user}"'


def _identity(report: SwitchReport) -> str:
    said = report.identity
    name = f'answers as "{said.sys_name}"' if said.sys_name else "answers, without a name"
    parts = [name]
    if report.round_trip_ms is not None:
        parts.append(f"in {max(1, round(report.round_trip_ms))} ms")
    if said.enterprise is not None:
        parts.append(f"enterprise number {said.enterprise}")
    if report.uptime_s is not None:
        parts.append(f"up for {wording.duration(report.uptime_s)}")
    return ", ".join(parts)


def _port_lines(port: PortReport, report: SwitchReport) -> Iterator[str]:
    if port.identity is None:
        yield f"port {port.port}: not found; ports there are: {_ports(report)}"
        return
    found = port.identity
    by = "" if found.named_by == "ifName" else f" by {found.named_by}"
    yield f"port {port.port}: found{by}, {_state(port)}; {_light(port)}"
    if found.module:
        yield f"  module {found.module}"
    yield from (f"  {remark}" for remark in found.remarks)


def _ports(report: SwitchReport) -> str:
    names = [str(name) for name in report.known_ports]
    more = len(names) - _PORTS_SHOWN
    shown = ", ".join(names[:_PORTS_SHOWN]) or "none that it names"
    return f"{shown} and {more} more" if more > 0 else shown


def _state(port: PortReport) -> str:
    if port.admin is AdminStatus.DOWN:
        return "shut by somebody"
    words = {
        OperStatus.UP: "up",
        OperStatus.DOWN: "down",
        OperStatus.NOT_PRESENT: "without a module",
        OperStatus.LOWER_LAYER_DOWN: "down below",
        OperStatus.DORMANT: "waiting",
        OperStatus.TESTING: "in a test",
    }
    return "state not known" if port.oper is None else words.get(port.oper, "state not known")


def _light(port: PortReport) -> str:
    reader = port.identity.reader if port.identity else "none"
    if reader == "none":
        return "the switch reports no light for it: state, errors and flaps can be watched"
    if port.reading is None:
        return f"light is reported ({wording.light_source(reader)}), but no figure came"
    powers = (
        f"receives {wording.power_words(port.reading.rx)}, "
        f"sends {wording.power_words(port.reading.tx)}"
    )
    return f"{powers} ({wording.light_source(reader)})"


def port_problems(target: SwitchTarget, report: SwitchReport) -> Iterator[str]:
    """What of one switch can be mended."""
    where = f'switch "{target.name}"'
    if not report.answered:
        yield f"{report.error}; {report.hint}" if report.hint else report.error
        return
    for port in report.ports:
        here = f"{where} › port {port.port}"
        if port.identity is None:
            yield f"{here}: not found; {_instead(port, report)}"
        elif port.admin is AdminStatus.DOWN:
            yield f"{here}: shut by somebody; switch it on there if the link shall be up"
        elif port.oper is OperStatus.NOT_PRESENT:
            yield f"{here}: without a module; put it back in, or name another port"
        elif port.oper is OperStatus.DOWN:
            yield f"{here}: down; is this the port that the fibre is in, and is the far end on?"


def _instead(port: PortReport, report: SwitchReport) -> str:
    close = nearest(port.port, [str(name) for name in report.known_ports])
    if close is not None:
        return f'write: port = "{close}", or another of: {_ports(report)}'
    return f"write one of these in the link: {_ports(report)}"


def link_lines(link: Link, settings: Settings, reports: Reports) -> tuple[list[str], list[str]]:
    """One link both ways: what is to spare now and against which limit; and what can be mended."""
    ports = {end: _port_of(link, end, reports) for end in End}
    mau = {end: p.identity.mau_type if p and p.identity else None for end, p in ports.items()}
    facts = link_facts(link, settings, mau)
    lines, problems = [f"Link {link.name}"], []
    for direction in Direction:
        of = facts.direction(direction)
        port = ports[direction.receiver]
        rx = port.reading.rx if port is not None and port.reading is not None else None
        lines.append(f"  {link.direction_name(direction)}: {_spare(rx, of, link, direction)}")
        if isinstance(rx, NoLight):
            way = link.direction_name(direction)
            problems.append(f'link "{link.name}" › {way}: no light arrives')
        if isinstance(rx, Measured) and of.limits.sensitivity is None:
            letter = direction.receiver.name.lower()
            problems.append(
                f'link "{link.name}" › {letter}: {link.end(direction.receiver).name} reports its '
                "light, but how weak it may become is not known; "
                'write pmd = "1000BASE-LX10" (its module type) or sensitivity_dbm = -20.0'
            )
    return lines, problems


def _port_of(link: Link, end: End, reports: Reports) -> PortReport | None:
    described = link.end(end)
    report = None if described.switch is None else reports.get(described.switch)
    ports: Sequence[PortReport] = () if report is None else report.ports
    return next((p for p in ports if p.port == described.port), None)


def _unknown(facts: DirectionFacts) -> str:
    why = facts.limits.source.removeprefix("unknown: ")
    return f"how much is to spare is not known ({why})"


def _spare(rx: Power | None, facts: DirectionFacts, link: Link, direction: Direction) -> str:
    receiver = link.end(direction.receiver)
    if receiver.switch is None:
        return f"{receiver.name} is on no switch that can be asked, so nothing is known of it"
    if isinstance(rx, NoLight):
        return f"no light arrives at {receiver.name}"
    if not isinstance(rx, Measured):
        return f"not known: no reading from {receiver.name}"
    left = margin(rx.power, facts.limits)
    if left is None or facts.limits.sensitivity is None:
        return f"receives {wording.dbm(rx.power)}; {_unknown(facts)}"
    return (
        f"{wording.spare(left, anchored=facts.anchored)} to spare "
        f"(±{facts.accuracy.value:g} dB): receives {wording.dbm(rx.power)}, "
        f"can use light down to {wording.dbm(facts.limits.sensitivity)}; "
        f"{_ORIGIN[facts.limits.origin]}{facts.limits.source}"
    )
