"""Arguments in, exit code out: a literal table of commands, one place that catches."""

from __future__ import annotations

import argparse
import importlib
import os
import sys
import traceback
from collections.abc import Sequence
from typing import Final, Protocol, cast

from strandkeeper import __version__
from strandkeeper.errors import ExitCode, StrandkeeperError

__all__ = ["main"]


class Command(Protocol):
    """What a module under cli/ offers; it is imported only when its command is given."""

    EXAMPLE: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Declare the arguments, each with help, default and unit."""

    def run(self, arguments: argparse.Namespace) -> int:
        """Do it; the answer goes to stdout, the talk to stderr."""


# name: (module under strandkeeper.cli, a verb phrase)
COMMANDS: Final[dict[str, tuple[str, str]]] = {
    "alerts": ("alerts", "list, acknowledge and mute alerts; try every way out"),
    "assess": ("assess", "judge the history in a CSV file and tell its story, without a daemon"),
    "backup": ("backup", "copy the record to a file, also while the service runs"),
    "bench": ("bench", "keep what both modules say joined by one short cord, as a reference"),
    "budget": ("budget", "plan a link: what it should lose, whether the modules fit"),
    "cable": ("cable", "bring in, write out or show the ledger of cables and strands"),
    "check": ("check", "read the configuration and ask every switch once"),
    "commission": ("commission", "go through the checklist of a new link and hand it over"),
    "decode": ("decode", "tell a module's raw pages (SFF-8472) in words"),
    "history": ("history", "write what the record holds of a link as CSV, or bring a CSV in"),
    "live": ("live", "show huge running figures of one link while somebody works on it"),
    "meter": ("meter", "enter or list what a power meter showed"),
    "report": ("report", "write the record of a link, or cards for its walls, to be printed"),
    "restore": ("restore", "put a backup in the place of the record"),
    "rework": ("rework", "begin, end or list work on a link, measured before and after"),
    "run": ("run", "run the service: poll, judge, keep the record, serve"),
    "status": ("status", "show how every link stands, out of the record"),
    "survey": ("survey", "look what unknown switches have, and write a configuration for them"),
    "user": ("user", "say who may log in to the pages"),
}

# Programs of the other two packages, which this one must not import: they are started instead.
ELSEWHERE: Final[dict[str, tuple[str, str]]] = {
    "dashboard": ("strandkeeper_dashboard", "serve the pages from the record"),
    "demo": ("strandkeeper_demo", "run the invented station, nothing to configure"),
}


def _overview() -> str:
    lines = [
        "usage: strandkeeper COMMAND [-h] ...",
        "",
        "Keeps the record a technician would keep of your own fibre links.",
        "",
        "commands:",
    ]
    table = {**COMMANDS, **ELSEWHERE}
    lines += [f"  {name:<12} {table[name][1]}" for name in sorted(table)]
    return "\n".join([*lines, "", "strandkeeper COMMAND -h tells the rest; --version the release."])


def _run(name: str, arguments: Sequence[str]) -> int:
    if name in ELSEWHERE:
        module = ELSEWHERE[name][0]
        sys.stdout.flush()
        os.execv(sys.executable, [sys.executable, "-m", module, *arguments])
    module, summary = COMMANDS[name]
    command = cast("Command", importlib.import_module(f"strandkeeper.cli.{module}"))
    parser = argparse.ArgumentParser(
        prog=f"strandkeeper {name}",
        description=f"{summary[0].upper()}{summary[1:]}.",
        epilog=f"example: {command.EXAMPLE}",
    )
    command.add_arguments(parser)
    # intermixed: an argument that may be left out is found behind an option, too
    return command.run(parser.parse_intermixed_args(arguments))


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return the exit code (errors.ExitCode)."""
    given = list(sys.argv[1:] if argv is None else argv)
    if not given or given[0] in ("-h", "--help"):
        print(_overview())
        return ExitCode.DONE if given else ExitCode.USAGE
    if given[0] == "--version":
        print(f"strandkeeper {__version__}")
        return ExitCode.DONE
    if given[0] not in COMMANDS and given[0] not in ELSEWHERE:
        print(f"strandkeeper: there is no command {given[0]!r}\n\n{_overview()}", file=sys.stderr)
        return ExitCode.USAGE
    try:
        return _run(given[0], given[1:])
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    except BrokenPipeError:
        return ExitCode.DONE
    except StrandkeeperError as error:
        print(f"strandkeeper: {error}", file=sys.stderr)
        return ExitCode.OPERATOR
    except Exception:  # noqa: BLE001 the outermost frame: our own bug, reported whole
        print("strandkeeper: this is our bug; please report the lines below", file=sys.stderr)
        print(f"strandkeeper {__version__}, Python {sys.version}", file=sys.stderr)
        traceback.print_exc()
        return ExitCode.BUG
