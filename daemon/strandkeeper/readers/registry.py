"""Every reader, in the order in which they are tried. To add one, add its line."""

from __future__ import annotations

from typing import Final

from strandkeeper.readers.base import Reader
from strandkeeper.readers.entity_sensor import EntitySensorReader

__all__ = ["READERS", "STATUS_ONLY"]

STATUS_ONLY: Final = "none"  # a port without a reader: state, errors and flaps, no light

READERS: Final[dict[str, Reader]] = {
    EntitySensorReader.name: EntitySensorReader(),
}
