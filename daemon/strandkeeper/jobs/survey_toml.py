"""A survey as configuration text: `check` accepts it unchanged. Pure.

Whatever a switch said is escaped: no text of a switch can become a line of the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from strandkeeper.alerts import wording
from strandkeeper.config.load import loads
from strandkeeper.config.tomltext import comment, quoted
from strandkeeper.errors import ConfigError
from strandkeeper.jobs.survey import SurveyedPort, SurveyedSwitch
from strandkeeper.jobs.survey_links import FoundLink, found_links, is_optical, one_sided, pmd_of
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, UsmRef

__all__ = ["port_words", "survey_text", "switch_names"]

_LONGEST_NAME = 60


def survey_text(switches: Sequence[SurveyedSwitch], words: Mapping[SurveyedPort, str]) -> str:
    """The configuration of what answered. `words` tells each port's light in words.

    Where the modules' own words contradict each other, the module types are left out, and why is
    said in the text.
    """
    text = "\n".join(_text(switches, words, with_types=True)) + "\n"
    try:
        loads(text, base=Path())
    except ConfigError as error:
        left_out = [
            comment("Module types were left out, since they do not go together:"),
            *(comment(f"  {problem}") for problem in error.problems),
        ]
        plain = list(_text(switches, words, with_types=False))
        text = "\n".join([*left_out, *plain]) + "\n"
    return text


def switch_names(switches: Sequence[SurveyedSwitch]) -> dict[int, str]:
    """A name of its own for each switch, by its place: sysName, else the host."""
    names: dict[int, str] = {}
    for n, switch in enumerate(switches):
        said = " ".join("".join(c if c.isprintable() else " " for c in _said(switch)).split())
        name = said[:_LONGEST_NAME] or switch.target.host
        if name in names.values():
            name = f"{name} ({switch.target.host}:{switch.target.port})"
        names[n] = name
    return names


def _said(switch: SurveyedSwitch) -> str:
    return switch.identity.sys_name


def _text(
    switches: Sequence[SurveyedSwitch], words: Mapping[SurveyedPort, str], *, with_types: bool
) -> Iterator[str]:
    answered = [s for s in switches if not s.error]
    names = switch_names(answered)
    yield comment("Written by strandkeeper survey. Look through it, then: strandkeeper check FILE")
    for switch in switches:
        if switch.error:
            yield comment(f"{switch.target.host} was not surveyed: {switch.error}")
    yield ""
    yield 'station = "My station"'
    links = found_links(answered)
    for n, switch in enumerate(answered):
        yield ""
        yield from _switch(switch, names[n], words, answered, links)
    for link in links:
        yield ""
        yield from _link(link, answered, names, links, with_types=with_types)
    if not links:
        yield ""
        yield from _template(answered, names)


def _switch(
    switch: SurveyedSwitch,
    name: str,
    words: Mapping[SurveyedPort, str],
    switches: Sequence[SurveyedSwitch],
    links: Sequence[FoundLink],
) -> Iterator[str]:
    said = switch.identity
    yield comment(f"---- {name} ----")
    yield comment(f"says of itself: {said.sys_descr[:300]}")
    number = "none" if said.enterprise is None else said.enterprise
    yield comment(f"sysObjectID {said.sys_object_id or 'none'}, enterprise number {number}")
    sources = ", ".join(map(wording.light_source, switch.readers)) or "none found"
    yield comment(f"light readings by: {sources}")
    for remark in switch.remarks:
        yield comment(f"note: {remark}")
    yield "[[switch]]"
    yield f"name = {quoted(name)}"
    yield f"host = {quoted(switch.target.host)}"
    yield f"port = {switch.target.port}"
    if not switch.readers:
        table = quoted(f"{said.sys_name or switch.target.host} learned 1")
        yield comment(f"tables = [{table}]  # when a [[table]] of that name (--learn) is in use")
    yield from _snmp(switch.target.credentials)
    tied = {id(p) for x in links for p in (x.a_port, x.b_port)}
    for port in switch.ports:
        yield comment(f"port {port_words(port)}")
        if port in words:
            yield comment(f"    {words[port]}")
        if port.module is not None:
            yield comment(f"    {_module(port)}")
        yield from (comment(f"    doubtful: {doubt}") for doubt in port.doubts)
        why = "" if id(port) in tied else one_sided(switch, port, switches)
        if why:
            yield comment(f"    {why}")


def port_words(port: SurveyedPort) -> str:
    """One port in a line: name, alias, speed, state, type."""
    parts = [port.name or f"without a name (ifIndex {port.key.if_index})"]
    if port.key.alias:
        parts.append(f'"{port.key.alias}"')
    if port.speed_mbps is not None:
        parts.append(f"{port.speed_mbps} Mbit/s")
    if port.oper is not None:
        parts.append(port.oper.name.lower().replace("_", " "))
    spec = pmd_of(port)
    if spec is not None:
        parts.append(spec.name)
    elif port.mau_type is not None:
        copper = is_optical(port) is False
        parts.append("copper" if copper else f"dot3MauType {port.mau_type}")
    return ", ".join(parts)


def _module(port: SurveyedPort) -> str:
    said = port.module
    if said is None:
        return ""
    named = (
        ("maker", said.maker),
        ("part", said.part),
        ("serial", said.serial),
        ("called", said.descr),
    )
    return "module: " + ", ".join(f"{what} {text}" for what, text in named if text)


def _snmp(held: CommunityRef | UsmRef) -> Iterator[str]:
    yield "[switch.snmp]"
    if isinstance(held, CommunityRef):
        yield f"version = {quoted(held.version)}"
        yield _secret("community", held.community)
        return
    yield 'version = "3"'
    yield f"user = {quoted(held.user)}"
    for name, protocol, key in (
        ("auth", held.auth_protocol, held.auth_key),
        ("priv", held.priv_protocol, held.priv_key),
    ):
        if protocol is not None and key is not None:
            yield f"{name} = {quoted(protocol)}"
            yield _secret(f"{name}_key", key)
    if held.context:
        yield f"context = {quoted(held.context)}"


def _secret(name: str, ref: SecretRef) -> str:
    way = {SecretKind.FILE: "file", SecretKind.ENVIRONMENT: "env"}.get(ref.kind, "credential")
    return f"{name}_{way} = {quoted(ref.where)}"


def _link(
    link: FoundLink,
    switches: Sequence[SurveyedSwitch],
    names: Mapping[int, str],
    links: Sequence[FoundLink],
    *,
    with_types: bool,
) -> Iterator[str]:
    optical = {is_optical(link.a_port), is_optical(link.b_port)}
    a, b = names[switches.index(link.a)], names[switches.index(link.b)]
    twins = [x for x in links if x.a is link.a and x.b is link.b]
    name = f"{a} to {b}" if len(twins) == 1 else f"{a} {link.a_port.name} to {b}"
    lines = list(_link_lines(link, name, (a, b), with_types=with_types))
    if optical == {False} or True not in optical:
        what = "copper" if False in optical else "perhaps not fibre: nothing tells"
        yield comment(f"{name}: both ends hear each other, but it is {what}")
        yield from ("# " + line for line in lines)
        return
    yield comment("both ends hear each other (LLDP)")
    yield from lines


def _link_lines(
    link: FoundLink, name: str, ends: tuple[str, str], *, with_types: bool
) -> Iterator[str]:
    types = [pmd_of(p) if with_types else None for p in (link.a_port, link.b_port)]
    yield "[[link]]"
    yield f"name = {quoted(name)}"
    yield '# near = "a"                 # the end this computer is at'
    yield "# length_m = 900             # of the cable; then the planned loss is known"
    if any(spec is not None and spec.single_strand for spec in types):
        yield "strands = 1"
    if any(spec is not None and spec.medium == "multimode" for spec in types):
        yield 'fibre = "OM3"               # multimode by the module type: put in what it is'
    for letter, end, port, spec in zip("ab", ends, (link.a_port, link.b_port), types, strict=True):
        yield f"[link.{letter}]"
        yield f"name = {quoted(end)}"
        yield f"switch = {quoted(end)}"
        yield f"port = {quoted(port.name)}"
        if spec is not None:
            yield f"pmd = {quoted(spec.name)}"


def _template(switches: Sequence[SurveyedSwitch], names: Mapping[int, str]) -> Iterator[str]:
    """A link to fill in, with the first port for fibre."""
    optical = [(n, p) for n, s in enumerate(switches) for p in s.ports if is_optical(p)]
    if not optical:
        yield comment("no port for fibre was recognised; a link is written so:")
    else:
        yield comment("no two surveyed ports hear each other; a link is written so:")
    n, port = optical[0] if optical else (0, None)
    name = "Gi1" if port is None else port.name
    lines = (
        "[[link]]",
        'name = "Lab to pump house"',
        f'a = {{ name = "Lab", switch = {quoted(names.get(n, "lab-switch"))}, '
        f"port = {quoted(name)} }}",
        'b = { name = "Pump house" }',
    )
    yield from ("# " + line for line in lines)
