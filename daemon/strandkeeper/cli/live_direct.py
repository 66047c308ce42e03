"""The live view of one port without daemon and configuration: for a laptop at the far switch."""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
import time
from pathlib import Path
from typing import Final

from strandkeeper.alerts.wording_figures import dbm
from strandkeeper.alerts.wording_rework import work_cautions
from strandkeeper.analysis.handwork import LiveFigures, explain_handwork
from strandkeeper.analysis.live_track import Track
from strandkeeper.app.secrets import resolve
from strandkeeper.cli.live_screen import Pane, line_of, room_of_terminal, screen
from strandkeeper.errors import InputError
from strandkeeper.jobs.poll_switch import SwitchPoller
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.poll import LinkEnd, SwitchPoll
from strandkeeper.model.reading import EndRow, OperStatus
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget, UsmRef
from strandkeeper.snmp.credentials import credential
from strandkeeper.snmp.session import SnmpClient

__all__ = ["add_direct_arguments", "look_at_switch"]

FASTEST_S: Final = 1.0
SLOWEST_S: Final = 5.0
LONGEST_S: Final = 30 * 60.0
COMMUNITY: Final = "STRANDKEEPER_COMMUNITY"
CAUTION_S: Final = 6.0
CLEAR: Final = "\x1b[H\x1b[2J"

_SILENCE: Final = (
    "Is that its address, may this computer ask it, and is the credential right? To a wrong "
    "community a switch says nothing."
)


def add_direct_arguments(parser: argparse.ArgumentParser) -> None:
    """One port of one switch, and what opens it; a secret is never an argument."""
    own = parser.add_argument_group("one switch, without daemon and configuration")
    own.add_argument("--switch", metavar="HOST", help="the switch's name or address")
    own.add_argument("--port", metavar="PORT", help="the port, as the switch names it")
    own.add_argument(
        "--snmp-port", type=int, default=161, metavar="N", help="UDP port (default 161)"
    )
    own.add_argument("--version", choices=("1", "2c"), default="2c", help="without --user (2c)")
    own.add_argument(
        "--community-file", metavar="FILE", help=f"v1, v2c: the community (default: ${COMMUNITY})"
    )
    own.add_argument("--user", help="SNMPv3 user")
    own.add_argument("--auth", default="SHA-256", metavar="NAME", help="v3 (default SHA-256)")
    own.add_argument("--auth-key-file", metavar="FILE", help="v3: the pass phrase")
    own.add_argument("--priv", default="AES-128", metavar="NAME", help="v3 (default AES-128)")
    own.add_argument("--priv-key-file", metavar="FILE", help="v3: the pass phrase")


def _file(path: str | None) -> SecretRef | None:
    return None if path is None else SecretRef(kind=SecretKind.FILE, where=str(Path(path)))


def _target(arguments: argparse.Namespace) -> SwitchTarget:
    held: CommunityRef | UsmRef
    if arguments.user is not None:
        auth, priv = _file(arguments.auth_key_file), _file(arguments.priv_key_file)
        held = UsmRef(
            user=arguments.user,
            auth_protocol=None if auth is None else arguments.auth,
            auth_key=auth,
            priv_protocol=None if priv is None else arguments.priv,
            priv_key=priv,
        )
    else:
        ref = _file(arguments.community_file)
        if ref is None and COMMUNITY not in os.environ:
            raise InputError(
                "no credential for the switch",
                hint=f"give --community-file FILE, --user NAME, or set {COMMUNITY}",
            )
        in_environment = SecretRef(kind=SecretKind.ENVIRONMENT, where=COMMUNITY)
        held = CommunityRef(version=arguments.version, community=ref or in_environment)
    return SwitchTarget(
        name=SwitchName(arguments.switch),
        host=arguments.switch,
        port=arguments.snmp_port,
        credentials=held,
        timeout_s=1.0,
    )


async def look_at_switch(arguments: argparse.Namespace) -> None:
    """Ask once a second and show, until Ctrl-C, half an hour, or so many readings."""
    if arguments.port is None:
        raise InputError("live --switch needs --port", hint="the port as the switch names it")
    target = _target(arguments)
    client = SnmpClient([(target, credential(target.credentials, resolve))])
    end = LinkEnd(LinkName(arguments.port), End.A)
    await client.start()
    try:
        poller = SwitchPoller(client, target.name, {end: PortName(arguments.port)})
        await _follow(arguments, poller)
    finally:
        await client.close()


async def _follow(arguments: argparse.Namespace, poller: SwitchPoller) -> None:
    track, begun_s, seen = Track(), time.monotonic(), 0
    cautions = work_cautions(outdoors=arguments.outdoors)
    while time.monotonic() - begun_s < LONGEST_S and not 0 < arguments.updates <= seen:
        asked_s = time.monotonic()
        poll = await poller.poll(round((asked_s - begun_s) * 1000), optics=True)
        row = _row(arguments.port, poll)
        if row is not None and row.optics is not None:
            track.take(row.time_ms, row.optics.rx, row.optics.tx)
            seen += 1
        pane = _pane(arguments, track, row, poll)
        _show(asked_s - begun_s, pane, _rate(poller), cautions)
        await asyncio.sleep(max(0.0, asked_s + _interval(poller) - time.monotonic()))


def _row(port: str, poll: SwitchPoll) -> EndRow | None:
    if poll.answered and poll.missing_ports:
        known = ", ".join(poll.known_ports) or "none"
        raise InputError(f"the switch has no port {port!r}", hint=f"it has {known}")
    return poll.rows[0][1] if poll.answered and poll.rows else None


def _interval(poller: SwitchPoller) -> float:
    refresh = poller.optics_refresh_s
    return FASTEST_S if refresh is None else min(SLOWEST_S, max(FASTEST_S, refresh / 2))


def _rate(poller: SwitchPoller) -> str:
    text, refresh = f"A reading every {_interval(poller):g} s", poller.optics_refresh_s
    if refresh is None:
        return f"{text} (finding out how often the switch renews its figures)"
    return f"{text}; the switch renews its figures about every {refresh:.0f} s"


def _pane(
    arguments: argparse.Namespace, track: Track, row: EndRow | None, poll: SwitchPoll
) -> Pane:
    if row is None:
        state = f"No answer: {poll.error}." if poll.error else "No answer."
        if not track.readings:
            state += f" {_SILENCE}"
    elif row.optics is None:
        state = "The switch shows no light readings of this port."
    else:
        state = "The port is down." if row.oper is OperStatus.DOWN else ""
    sent = "" if track.sent is None else f" It sends {dbm(track.sent)} itself."
    return Pane(
        name=f"{arguments.switch} {arguments.port}",
        sees=f"This end sees the far end's light only, on its receive strand.{sent}",
        track=track,
        state=state,
        signs=explain_handwork(LiveFigures(peak_db=track.peak, dark=track.dark)),
    )


def _show(lasted_s: float, pane: Pane, rate: str, cautions: tuple[str, ...]) -> None:
    if not sys.stdout.isatty():
        print(line_of(lasted_s, [pane]) + (f" ({pane.state})" if pane.state else ""), flush=True)
        return
    room = room_of_terminal(int(lasted_s / CAUTION_S))
    print(CLEAR + screen("Ctrl-C ends it", rate, [pane], cautions, room), flush=True)
