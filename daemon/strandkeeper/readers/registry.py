"""Every reader, in the order in which they are tried. To add one, add its line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from strandkeeper.model.enterprise_table import EnterpriseTable
from strandkeeper.readers.base import Reader
from strandkeeper.readers.enterprise import EnterpriseReader
from strandkeeper.readers.entity_sensor import EntitySensorReader
from strandkeeper.readers.raw_pages import RawPagesReader

__all__ = ["READERS", "STATUS_ONLY", "readers_for"]

STATUS_ONLY: Final = "none"  # a port without a reader: state, errors and flaps, no light

# what every switch may have
READERS: Final[dict[str, Reader]] = {
    EntitySensorReader.name: EntitySensorReader(),
}


def readers_for(tables: Sequence[EnterpriseTable]) -> tuple[Reader, ...]:
    """The readers to try on a switch: those that its owner described first."""
    described = (RawPagesReader(t) if t.of_pages else EnterpriseReader(t) for t in tables)
    return (*described, *READERS.values())
