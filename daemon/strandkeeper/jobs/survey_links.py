"""Which two surveyed ports are the ends of one link: both must hear the other. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from strandkeeper.jobs.survey import SurveyedPort, SurveyedSwitch
from strandkeeper.optics.pmd import PmdSpec
from strandkeeper.optics.recognise import Sureness, from_mau_type
from strandkeeper.readers.lldp import Neighbour, far_port

__all__ = ["FoundLink", "found_links", "is_optical", "one_sided", "pmd_of"]

# IANA-MAU-MIB: twisted pair, twinaxial and backplane
_COPPER = frozenset((5, 10, 11, 14, 15, 16, 19, 20, 27, 28, 29, 30, 41, 54, 56, 57, 58, 70, 71, 75))


@dataclass(frozen=True, slots=True)
class FoundLink:
    """A link with both ends."""

    a: SurveyedSwitch
    a_port: SurveyedPort
    b: SurveyedSwitch
    b_port: SurveyedPort


def is_optical(port: SurveyedPort) -> bool | None:
    """Whether a port is for fibre; None: nothing tells."""
    if port.mau_type in _COPPER:
        return False
    if port.reading is not None or pmd_of(port) is not None:
        return True
    return True if port.module is not None else None


def pmd_of(port: SurveyedPort) -> PmdSpec | None:
    """The class of module that the switch names, where that is more than a guess."""
    if port.mau_type is None:
        return None
    said = from_mau_type(port.mau_type)
    return None if said.sure is Sureness.CANNOT_TELL else said.spec


def found_links(switches: Sequence[SurveyedSwitch]) -> tuple[FoundLink, ...]:
    """Each link once, in the order of the switches."""
    links: list[FoundLink] = []
    for n, a in enumerate(switches):
        for port in a.ports:
            for b, far in _far_ends(a, port, switches):
                if switches.index(b) > n and _hears(far, b, a, port, switches):
                    links.append(FoundLink(a, port, b, far))
    return tuple(links)


def _hears(
    port: SurveyedPort,
    switch: SurveyedSwitch,
    far: SurveyedSwitch,
    far_end: SurveyedPort,
    switches: Sequence[SurveyedSwitch],
) -> bool:
    return any(
        other is far and heard.key == far_end.key
        for other, heard in _far_ends(switch, port, switches)
    )


def _far_ends(
    switch: SurveyedSwitch, port: SurveyedPort, switches: Sequence[SurveyedSwitch]
) -> Iterator[tuple[SurveyedSwitch, SurveyedPort]]:
    """The one surveyed port that a port hears; nothing if it hears several switches."""
    if len(port.heard) != 1:
        return
    heard = port.heard[0]
    others = [s for s in switches if s is not switch and _is(heard, s)]
    if len(others) != 1:
        return
    if_index = far_port(heard, [p.key for p in others[0].ports])
    for far in others[0].ports:
        if far.key.if_index == if_index:
            yield others[0], far


def _is(heard: Neighbour, switch: SurveyedSwitch) -> bool:
    if switch.chassis and heard.chassis:
        return switch.chassis == heard.chassis
    return bool(heard.system) and heard.system == switch.identity.sys_name


def one_sided(
    switch: SurveyedSwitch, port: SurveyedPort, switches: Sequence[SurveyedSwitch]
) -> str:
    """Why what a port hears makes no link, as a sentence; empty if it hears nobody."""
    if not port.heard:
        return ""
    if len(port.heard) > 1:
        return f"hears {len(port.heard)} neighbours: something between passes LLDP on"
    heard = port.heard[0]
    name = heard.system or "an unnamed switch"
    where = heard.port_id or heard.port_descr or "a port it does not name"
    if not any(_is(heard, s) for s in switches if s is not switch):
        return f"hears {name}, port {where}, which was not surveyed"
    return f"hears {name}, port {where}, but is not heard from there"
