"""`strandkeeper survey`: what unknown switches have, as configuration text."""

from __future__ import annotations

import argparse
import asyncio
import logging
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from strandkeeper.alerts import wording
from strandkeeper.app.secrets import resolve
from strandkeeper.cli.survey_learn import (
    Lessons,
    learn_switches,
    lesson_summary,
    lesson_text,
    prove_at,
)
from strandkeeper.errors import ExitCode, InputError
from strandkeeper.jobs.survey import SurveyedPort, SurveyedSwitch, survey_switch
from strandkeeper.jobs.survey_toml import survey_text
from strandkeeper.model.names import SwitchName
from strandkeeper.model.switch import CommunityRef, SecretKind, SecretRef, SwitchTarget, UsmRef
from strandkeeper.snmp.credentials import AUTH_PROTOCOLS, PRIV_PROTOCOLS, credential
from strandkeeper.snmp.session import SnmpClient

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper survey 192.0.2.10 192.0.2.20 --community-file lab.community -o station.toml"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The hosts, how to ask them, and where the text goes."""
    parser.add_argument(
        "hosts",
        nargs="+",
        metavar="HOST",
        help="address or name of a switch; HOST:PORT, [IPV6]:PORT",
    )
    parser.add_argument(
        "-o", dest="output", type=Path, metavar="FILE",
        help="write the configuration to a new file (default: to stdout)",
    )  # fmt: skip
    parser.add_argument(
        "--version", choices=("1", "2c", "3"), help="SNMP version (default: 3 with --user, else 2c)"
    )
    for name, what in (
        ("community", "the community (v1, v2c)"),
        ("auth-key", "the authentication key (v3)"),
        ("priv-key", "the privacy key (v3)"),
    ):
        way = parser.add_mutually_exclusive_group()
        way.add_argument(f"--{name}-file", metavar="F", help=f"{what}: a file with nothing else")
        way.add_argument(f"--{name}-env", metavar="NAME", help=f"{what}: an environment variable")
    parser.add_argument(
        "--learn",
        action="store_true",
        help="watch the switches' own tables for about a minute, and propose what in them may be "
        "light readings: as comments, adopted by nobody but you",
    )
    parser.add_argument(
        "--prove",
        metavar="PORT",
        help="with --learn and one HOST: be led through the proof, a plug pulled at that port",
    )
    parser.add_argument("--user", help="the user on the switch (v3)")
    parser.add_argument("--auth", choices=AUTH_PROTOCOLS, help="authentication protocol (v3)")
    parser.add_argument("--priv", choices=PRIV_PROTOCOLS, help="privacy protocol (v3)")
    parser.add_argument("--context", default="", help="context name (v3; default: none)")
    parser.add_argument(
        "--timeout-s", type=float, default=2.0, help="wait for one answer [s] (default: 2)"
    )
    parser.add_argument("--retries", type=int, default=1, help="ask again so often (default: 1)")


def run(arguments: argparse.Namespace) -> int:
    """Survey the hosts; 0 when all answered, 1 when one did not or the file cannot be written."""
    output: Path | None = arguments.output
    if output is not None and output.exists():
        raise InputError(
            f"{output} is there already, and a survey overwrites nothing",
            hint="name a new file, or move that one away",
        )
    held = _credentials(arguments)
    targets = [_target(n, host, held, arguments) for n, host in enumerate(arguments.hosts)]
    logging.getLogger("strandkeeper").addHandler(logging.NullHandler())  # the answer says it all
    _require_provable(arguments)
    surveyed, lessons = asyncio.run(_survey(targets, arguments))
    for switch in surveyed:
        if switch.error:
            print(f"{switch.error}\n  {switch.hint}", file=sys.stderr)
    if all(switch.error for switch in surveyed):
        return ExitCode.OPERATOR
    text = survey_text(surveyed, {p: _light(p) for s in surveyed for p in s.ports if p.reading})
    for switch in surveyed:
        if switch.target.name in lessons:
            text += "\n" + lesson_text(switch, lessons[switch.target.name])
    if output is None:
        print(text, end="")
    else:
        _write(output, text)
        for line in _summary(surveyed):
            print(line)
        for line in lesson_summary(surveyed, lessons):
            print(line)
        print(f"\n{output} is written. Look through it, then: strandkeeper check {output}")
    return ExitCode.OPERATOR if any(switch.error for switch in surveyed) else ExitCode.DONE


def _credentials(arguments: argparse.Namespace) -> CommunityRef | UsmRef:
    version = arguments.version or ("3" if arguments.user else "2c")
    if version != "3":
        community = _secret(arguments, "community")
        if community is None:
            raise InputError(
                "how to ask the switches is missing",
                hint="--community-file F or --community-env NAME; for SNMPv3 --user NAME",
            )
        return CommunityRef(version=version, community=community)
    if not arguments.user:
        raise InputError("SNMPv3 needs a user", hint="--user NAME")
    return UsmRef(
        user=arguments.user,
        auth_protocol=arguments.auth,
        auth_key=_secret(arguments, "auth_key"),
        priv_protocol=arguments.priv,
        priv_key=_secret(arguments, "priv_key"),
        context=arguments.context,
    )


def _secret(arguments: argparse.Namespace, name: str) -> SecretRef | None:
    file, env = getattr(arguments, f"{name}_file"), getattr(arguments, f"{name}_env")
    if file is not None:
        return SecretRef(kind=SecretKind.FILE, where=str(Path(file).absolute()))
    return None if env is None else SecretRef(kind=SecretKind.ENVIRONMENT, where=env)


def _target(
    n: int, host: str, held: CommunityRef | UsmRef, arguments: argparse.Namespace
) -> SwitchTarget:
    name, port = _host_and_port(host)
    return SwitchTarget(
        name=SwitchName(f"{n + 1}: {host}"),
        host=name,
        port=port,
        credentials=held,
        timeout_s=arguments.timeout_s,
        retries=arguments.retries,
    )


def _host_and_port(text: str) -> tuple[str, int]:
    name, colon, port = text.rpartition(":")
    if name.startswith("[") and name.endswith("]"):
        name = name[1:-1]
    elif not colon or ":" in name:
        return text.strip("[]"), 161
    if not (port.isascii() and port.isdigit() and 0 < int(port) < 65536):
        raise InputError(f"{text!r} is no host with a port", hint="HOST, HOST:PORT or [IPV6]:PORT")
    return name, int(port)


def _require_provable(arguments: argparse.Namespace) -> None:
    if arguments.prove and not (arguments.learn and len(arguments.hosts) == 1):
        raise InputError(
            "the proof needs --learn and one host", hint="survey HOST --learn --prove PORT"
        )


async def _survey(
    targets: Sequence[SwitchTarget], arguments: argparse.Namespace
) -> tuple[list[SurveyedSwitch], Lessons]:
    client = SnmpClient([(t, credential(t.credentials, resolve)) for t in targets])
    progress = {target.name: _Progress(target) for target in targets}
    await client.start()
    try:
        surveyed = await asyncio.gather(
            *(survey_switch(client, target, progress[target.name]) for target in targets)
        )
        if not arguments.learn:
            return surveyed, {}
        lessons = await learn_switches(client, surveyed, lambda name, text: progress[name](text))
        if arguments.prove:
            await prove_at(client, surveyed[0], lessons, arguments.prove)
        return surveyed, lessons
    finally:
        await client.close()


class _Progress:
    """What is being done, on a terminal alone."""

    def __init__(self, target: SwitchTarget) -> None:
        self._host = target.host

    def __call__(self, text: str) -> None:
        if sys.stderr.isatty():
            print(f"{self._host}: {text} ...", file=sys.stderr)


def _light(port: SurveyedPort) -> str:
    reading = port.reading
    if reading is None:
        return ""
    parts = [
        f"receives {wording.power_words(reading.rx)}",
        f"sends {wording.power_words(reading.tx)}",
    ]
    for value, unit in ((reading.bias_ma, "mA"), (reading.temp_c, "°C"), (reading.vcc_v, "V")):
        if value is not None:
            parts.append(f"{value:.4g} {unit}")
    return f"{', '.join(parts)} ({wording.light_source(port.reader)})"


def _summary(surveyed: Sequence[SurveyedSwitch]) -> list[str]:
    lines = []
    for switch in (s for s in surveyed if not s.error):
        name = switch.identity.sys_name or switch.target.host
        lit = sum(port.reading is not None for port in switch.ports)
        readers = ", ".join(map(wording.light_source, switch.readers)) or "no light readings found"
        lines.append(f"{name}: {len(switch.ports)} ports, {lit} with light readings ({readers})")
        lines += [f"  {remark}" for remark in switch.remarks]
    return lines


def _write(output: Path, text: str) -> None:
    try:
        with os.fdopen(os.open(output, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644), "w") as file:
            file.write(text)
    except OSError as error:
        raise InputError(
            f"{output} cannot be written: {error.strerror}", hint="name another file with -o"
        ) from None
