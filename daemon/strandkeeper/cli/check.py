"""`strandkeeper check`: read the configuration, ask every switch once, say what it answered."""

from __future__ import annotations

import argparse
import asyncio
import logging
import sys
from collections.abc import Sequence
from pathlib import Path

from strandkeeper.app.secrets import resolve
from strandkeeper.app.trapping import inform_clashes
from strandkeeper.cli.check_offline import Notes, offline_notes
from strandkeeper.cli.check_text import link_lines, port_problems, summary, switch_lines
from strandkeeper.config.load import load, starter_text
from strandkeeper.errors import ExitCode, SecretError
from strandkeeper.jobs.ask_switch import SwitchReport, ask_switch
from strandkeeper.model.names import PortName, SwitchName
from strandkeeper.model.settings import Settings
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.snmp.credentials import Credential, credential, remarks
from strandkeeper.snmp.session import SnmpClient

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper check station.toml"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The configuration, and whether the switches are asked."""
    parser.add_argument("config", type=Path, nargs="?", help="the configuration file (TOML)")
    parser.add_argument(
        "--starter", action="store_true", help="print a commented file to start from, and end"
    )
    parser.add_argument(
        "--offline", action="store_true", help="read the file only, ask no switch (default: ask)"
    )


def run(arguments: argparse.Namespace) -> int:
    """Say what was found; 0 when all is well, 1 when something can be mended."""
    if arguments.starter:
        print(starter_text(), end="")
        return ExitCode.DONE
    if arguments.config is None:
        print("strandkeeper check: name the configuration, or give --starter", file=sys.stderr)
        return ExitCode.USAGE
    settings = load(arguments.config)
    print(summary(str(arguments.config), settings))
    notes = offline_notes(settings)
    logging.getLogger("strandkeeper").addHandler(logging.NullHandler())  # the answer says it all
    if not arguments.offline:
        _ask_and_tell(settings, notes)
    return _close(notes, offline=arguments.offline)


def _close(notes: Notes, *, offline: bool) -> int:
    """The remarks, then what can be mended, then the exit code."""
    for remark in notes.remarks:
        print(f"\nRemark: {remark}")
    if not notes.problems:
        done = "No switch was asked." if offline else "All is well."
        print(f"\n{done}")
        return ExitCode.DONE
    count = len(notes.problems)
    print("\nOne thing to mend:" if count == 1 else f"\n{count} things to mend:")
    for problem in notes.problems:
        print(f"  - {problem}")
    return ExitCode.OPERATOR


def _ask_and_tell(settings: Settings, notes: Notes) -> None:
    opened, closed = _credentials(settings)
    notes.problems += closed.values()
    if settings.traps is not None:
        notes.problems += inform_clashes(opened)
    if sys.stderr.isatty():
        print(f"Asking {len(opened)} of {len(settings.switches)} switches ...", file=sys.stderr)
    reports = asyncio.run(_ask(settings, opened)) if opened else {}
    for target in settings.switches:
        report = reports.get(target.name)
        print("\n" + "\n".join(switch_lines(target, report, closed.get(target.name, ""))))
        if report is not None:
            notes.problems += port_problems(target, report)
    for held in dict.fromkeys(r for _, h in opened for r in remarks(h)):
        notes.remarks.append(held)
    for link in settings.links:
        lines, problems = link_lines(link, settings, reports)
        print("\n" + "\n".join(lines))
        notes.problems += problems


def _credentials(
    settings: Settings,
) -> tuple[list[tuple[SwitchTarget, Credential]], dict[SwitchName, str]]:
    """What opens each switch, and for the others the reason why nothing does."""
    opened: list[tuple[SwitchTarget, Credential]] = []
    closed: dict[SwitchName, str] = {}
    for target in settings.switches:
        try:
            opened.append((target, credential(target.credentials, resolve)))
        except SecretError as error:
            closed[target.name] = f'switch "{target.name}": {error.message}; {error.hint}'
    return opened, closed


async def _ask(
    settings: Settings, opened: Sequence[tuple[SwitchTarget, Credential]]
) -> dict[SwitchName, SwitchReport]:
    client = SnmpClient(opened)
    await client.start()
    try:
        names = [target.name for target, _ in opened]
        reports = await asyncio.gather(
            *(ask_switch(client, name, _wanted(settings, name)) for name in names)
        )
    finally:
        await client.close()
    return dict(zip(names, reports, strict=True))


def _wanted(settings: Settings, switch: SwitchName) -> list[PortName]:
    ends = [end for link in settings.links for end in (link.a, link.b)]
    return [end.port for end in ends if end.switch == switch and end.port is not None]
