"""One link between two switches, for tests that put a record together from polls made by hand."""

from __future__ import annotations

from pathlib import Path

from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import End, LinkName, PortName, SwitchName
from strandkeeper.model.settings import Settings, StoreSettings

SHORE = LinkName("shore")
START_MS = 1_800_000_000_000
NAMES = {End.A: SwitchName("lab"), End.B: SwitchName("pump")}
LINK = Link(
    name=SHORE,
    a=PortEnd(name="Lab", switch=NAMES[End.A], port=PortName("1"), pmd="1000BASE-LX10"),
    b=PortEnd(name="Pump", switch=NAMES[End.B], port=PortName("1"), pmd="1000BASE-LX10"),
    length_m=900,
    near=End.A,
)


def settings_in(folder: Path) -> Settings:
    """The station of that link, its record in `folder`."""
    return Settings(
        station="s", switches=(), links=(LINK,), store=StoreSettings(path=str(folder / "record.db"))
    )
