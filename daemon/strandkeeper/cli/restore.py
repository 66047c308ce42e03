"""`strandkeeper restore`: a backup put in the place of the record, after it was checked."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from strandkeeper.cli.backup import told_content
from strandkeeper.cli.page_count import page_count
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode
from strandkeeper.store.restore import restore_record

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = "strandkeeper restore station.toml /mnt/stick/station-2026-11-25.db"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("config", metavar="CONFIG", type=Path, help="the configuration file (TOML)")
    parser.add_argument(
        "file",
        metavar="FILE",
        type=Path,
        help="the backup; it is only read. The daemon and the dashboard must be stopped",
    )


def run(arguments: argparse.Namespace) -> int:
    """Check, put in place, and say where the old record is."""
    record = Path(load(arguments.config).store.path)
    with page_count("copied") as progress:
        restored = restore_record(record, arguments.file, progress)
    print(f"{record}: brought back, {told_content(restored.info)}; checked whole")
    if restored.kept is not None:
        print(f"What was there before is kept as {restored.kept}", file=sys.stderr)
    print("Now start the daemon again.", file=sys.stderr)
    return ExitCode.DONE
