"""`strandkeeper bench`: both modules joined by one short cord in one room, as a reference."""

from __future__ import annotations

import argparse
from contextlib import closing

from strandkeeper.alerts.wording_rework import meter_cautions
from strandkeeper.cli.ask_daemon import add_config, ask_for, link_named, print_cautions
from strandkeeper.cli.paragraph import paragraph
from strandkeeper.config.load import load
from strandkeeper.errors import ExitCode
from strandkeeper.model.entry import EntryKind
from strandkeeper.store import ledger, open_reader

__all__ = ["EXAMPLE", "add_arguments", "run"]

EXAMPLE = 'strandkeeper bench station.toml "Pump house"'


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The link whose modules are joined now."""
    add_config(parser)


def run(arguments: argparse.Namespace) -> int:
    """Keep what the modules say of each other now; refused where a short cord would blind them."""
    settings = load(arguments.config)
    link = link_named(settings, arguments.link)
    ask_for(settings, EntryKind.METER, {"kind": "bench", "link": link.name})
    with closing(open_reader(settings.store.path)) as record:
        benches = [b for b in record.ask(ledger.benches) if b.link == link.name]
    for bench in benches:
        print(f"{link.direction_name(bench.direction)}: sent - received {bench.difference}")
    print(
        paragraph(
            "Kept: what this link loses is then good to about half a dB, as long as both modules "
            "stay the same."
        )
    )
    print_cautions(meter_cautions())
    return ExitCode.DONE
