"""`strandkeeper live`: huge running figures of one link while somebody works on it.

With CONFIG and LINK it never asks a switch: it tells the daemon that somebody looks (renewed every
10 s) and shows what the daemon records. With --switch and --port it asks that one switch itself.
"""

from __future__ import annotations

import argparse
import asyncio
from pathlib import Path

from strandkeeper.cli.ask_daemon import link_named
from strandkeeper.cli.live_direct import add_direct_arguments, look_at_switch
from strandkeeper.cli.live_record import look_at_record
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = (
    'strandkeeper live station.toml "Pump house"; '
    "strandkeeper live --switch 192.0.2.20 --port sfp1 --community-file ./community"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """A link of the configuration, or one port of one switch."""
    parser.add_argument("config", metavar="CONFIG", type=Path, nargs="?", help="the configuration")
    parser.add_argument("link", metavar="LINK", nargs="?", help="the link to look at")
    parser.add_argument(
        "--updates",
        type=int,
        metavar="N",
        default=0,
        help="end after so many readings (default: with Ctrl-C, or after 30 minutes)",
    )
    parser.add_argument(
        "--outdoors", action="store_true", help="show the cautions for work outdoors, too"
    )
    add_direct_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Look until it ends."""
    if arguments.switch is not None:
        asyncio.run(look_at_switch(arguments))
        return ExitCode.DONE
    if arguments.config is None or arguments.link is None:
        print(f"strandkeeper live: name CONFIG and LINK, or --switch and --port\n{EXAMPLE}")
        return ExitCode.USAGE
    settings = load(arguments.config)
    link = link_named(settings, arguments.link)
    look_at_record(settings, link, updates=arguments.updates, outdoors=arguments.outdoors)
    return ExitCode.DONE
