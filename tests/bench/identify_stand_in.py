"""The plainest identification there could be: the first column whose figures lie in a usual range.

It is what better ones are held against: it looks neither at light and link, nor at the far end, nor
at what stands still.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from statistics import median

from tests.bench.identify_course import Claim, Meeting, Offer

from strandkeeper.errors import DeviceError
from strandkeeper.model.oid import Oid, Value
from strandkeeper_demo.personalities.physics import Quantity

__all__ = ["learn"]

OWN: Oid = (1, 3, 6, 1, 4, 1)
# lowest, highest, dimension, and the steps that are tried, in this order
RANGES: dict[Quantity, tuple[float, float, str, tuple[float, ...]]] = {
    Quantity.SUPPLY: (3.1, 3.5, "V", (1e-3, 1e-4, 0.01, 1.0, 1e-6)),
    Quantity.TEMPERATURE: (15.0, 70.0, "°C", (1.0, 0.1, 1 / 256, 0.01, 1e-3)),
    Quantity.BIAS: (3.0, 80.0, "mA", (0.002, 0.001, 0.1, 0.01, 1.0)),
    Quantity.TX: (-12.0, 4.0, "dBm", (0.01, 0.001, 0.1, 1.0)),
    Quantity.RX: (-25.0, 2.0, "dBm", (0.01, 0.001, 0.1, 1.0)),
}


def _number(value: Value) -> float | None:
    if isinstance(value, int):
        return float(value)
    if not isinstance(value, bytes):
        return None
    found = re.search(r"-?\d+(?:[.,]\d+)?", value.decode("utf-8", "replace"))
    return float(found.group().replace(",", ".")) if found else None


def _columns(rows: Mapping[Oid, Value]) -> Iterator[tuple[Oid, list[float]]]:
    columns: dict[Oid, list[float]] = {}
    for index, value in rows.items():
        number = _number(value)
        if number is not None:
            columns.setdefault((*OWN, *index[:-1]), []).append(number)
    yield from sorted(columns.items())


async def learn(meeting: Meeting) -> dict[Quantity, Offer]:
    """Offer the first that fits, and confidently so when nothing else does."""
    try:
        walk = await meeting.client.walk(meeting.near.name, OWN)
    except DeviceError:
        return {}
    columns = list(_columns(walk.rows))
    offers = {}
    for quantity, (low, high, dimension, steps) in RANGES.items():
        claims = tuple(
            Claim(column=column, step=step, dimension=dimension)
            for step in steps
            for column, numbers in columns
            if low <= median(numbers) * step <= high
        )
        if claims:
            offers[quantity] = Offer(claims=claims, confident=len(claims) == 1)
    return offers
