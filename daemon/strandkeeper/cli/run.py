"""`strandkeeper run`: the service."""

from __future__ import annotations

import argparse
import asyncio
from pathlib import Path

from strandkeeper.app.daemon import run_daemon
from strandkeeper.app.logging_setup import set_up_logging
from strandkeeper.config.aside import load_aside

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper run /etc/strandkeeper/station.toml"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The configuration, and whether the pages are served from here too."""
    parser.add_argument("config", type=Path, help="the configuration file (TOML)")
    parser.add_argument(
        "--no-dashboard",
        action="store_true",
        help="do not start the dashboard (it runs as a service of its own)",
    )
    parser.add_argument("--verbose", action="store_true", help="log every poll")


def run(arguments: argparse.Namespace) -> int:
    """Run until a signal ends it."""
    set_up_logging(verbose=arguments.verbose)
    settings = load_aside(arguments.config)
    return asyncio.run(
        run_daemon(settings, arguments.config, with_dashboard=not arguments.no_dashboard)
    )
