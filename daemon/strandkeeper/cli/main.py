"""Arguments in, exit code out: one explicit call a command, one place that catches."""

from __future__ import annotations

import argparse
import sys
import traceback
from collections.abc import Callable, Sequence

from strandkeeper import __version__
from strandkeeper.errors import ExitCode, StrandkeeperError

__all__ = ["main"]


class _Registry:
    """Holds the sub-parsers; a command cannot be added without help text."""

    def __init__(self, parser: argparse.ArgumentParser) -> None:
        self._commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)

    def add(
        self,
        name: str,
        *,
        summary: str,
        example: str,
        add_arguments: Callable[[argparse.ArgumentParser], None],
        run: Callable[[argparse.Namespace], int],
    ) -> None:
        """Register one command: verb phrase, one example, its arguments, its call."""
        parser = self._commands.add_parser(
            name,
            help=summary,
            description=summary,
            epilog=f"example: {example}",
            formatter_class=argparse.ArgumentDefaultsHelpFormatter,
        )
        add_arguments(parser)
        parser.set_defaults(run=run)


def build_parser() -> argparse.ArgumentParser:
    """The whole command line."""
    parser = argparse.ArgumentParser(
        prog="strandkeeper",
        description="Keeps the record a technician would keep of your own fibre links.",
    )
    parser.add_argument("--version", action="version", version=f"strandkeeper {__version__}")
    _Registry(parser)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return the exit code (errors.ExitCode)."""
    arguments = build_parser().parse_args(argv)
    try:
        return int(arguments.run(arguments))
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    except BrokenPipeError:
        return ExitCode.DONE
    except StrandkeeperError as error:
        print(f"strandkeeper: {error}", file=sys.stderr)
        return ExitCode.OPERATOR
    except Exception:  # the outermost frame: our own bug, reported whole
        print("strandkeeper: this is our bug; please report the lines below", file=sys.stderr)
        print(f"strandkeeper {__version__}, Python {sys.version}", file=sys.stderr)
        traceback.print_exc()
        return ExitCode.BUG
