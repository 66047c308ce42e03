"""`python -m strandkeeper_dashboard CONFIG`: serve the pages from the record."""

from __future__ import annotations

import argparse
import logging
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from strandkeeper.config.aside import load_aside
from strandkeeper.config.users import read_users, users_path
from strandkeeper.errors import ExitCode, StrandkeeperError
from strandkeeper.model.settings import Settings
from strandkeeper_dashboard.app import create_app
from strandkeeper_dashboard.record import Door
from strandkeeper_dashboard.serve import serve

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Serve until a signal ends it; the exit code is errors.ExitCode."""
    given = _parser().parse_args(argv)
    logging.basicConfig(format="%(asctime)s %(levelname)s %(name)s %(message)s")
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    try:
        settings = _settings(given)
        app = create_app(settings, Door(Path(settings.store.path)), config_path=str(given.config))
        users = read_users(users_path(Path(settings.store.path))).users
        serve(app, settings.dashboard, anyone_may_log_in=bool(users))
    except StrandkeeperError as error:
        print(f"strandkeeper dashboard: {error}", file=sys.stderr)
        return ExitCode.OPERATOR
    except KeyboardInterrupt:
        return ExitCode.INTERRUPTED
    return ExitCode.DONE


def _settings(given: argparse.Namespace) -> Settings:
    settings = load_aside(given.config)
    address = settings.dashboard
    if given.host is not None:
        address = replace(address, host=given.host)
    if given.port is not None:
        address = replace(address, port=given.port)
    return replace(settings, dashboard=address)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="strandkeeper dashboard",
        description="Serve the pages from the record.",
        epilog="example: strandkeeper dashboard /etc/strandkeeper/station.toml",
    )
    parser.add_argument("config", type=Path, help="the configuration file (TOML)")
    parser.add_argument(
        "--port", type=int, help="TCP port, 0 for any free one (default: [dashboard] port)"
    )
    parser.add_argument("--host", help="address to listen on (default: [dashboard] host)")
    return parser
