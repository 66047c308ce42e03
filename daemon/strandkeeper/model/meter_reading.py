"""What a person measured with an instrument, and what follows from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.optics.meter import MeterVerdict
from strandkeeper.optics.units import Db, Dbm

__all__ = ["Anchor", "Bench", "MeterKind", "MeterReading", "last_alike"]


class MeterKind(StrEnum):
    """Which measurement: loss against a reference, or power where the receiver's cord ends."""

    LOSS = "loss"
    POWER = "power"


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterReading:
    """One reading as typed in. `id` is the number of its entry.

    For LOSS, `cords`, `reference`, `loss` and `verdict` are there, `limit` where the length of the
    cable is known. For POWER, `reported` is what the module said before its cord was unplugged.
    """

    id: int
    at_ms: int
    who: str
    kind: MeterKind
    reading: Dbm
    wavelength_nm: int
    source: str = ""
    link: LinkName | None = None
    direction: Direction | None = None
    end: End | None = None
    cable: str | None = None
    strand: int | None = None
    cords: int | None = None
    reference: Dbm | None = None
    loss: Db | None = None
    limit: Db | None = None
    verdict: MeterVerdict | None = None
    reported: Dbm | None = None
    uncertainty: Db = Db(0.5)
    note: str = ""

    @property
    def method(self) -> tuple[MeterKind, int | None, int]:
        """Readings may be compared only where this is the same."""
        return (self.kind, self.cords, self.wavelength_nm)

    @property
    def what(self) -> tuple[object, ...]:
        """What was measured: the strand where it is known, else the direction of the link."""
        if self.cable is not None:
            return (self.cable, self.strand)
        return (self.link, self.direction)


def last_alike(reading: MeterReading, others: Iterable[MeterReading]) -> MeterReading | None:
    """The newest of `others` before it, of the same strand by the same method; None without one."""
    alike = [
        other
        for other in others
        if (other.at_ms, other.id) < (reading.at_ms, reading.id)
        and (other.what, other.method) == (reading.what, reading.method)
    ]
    return max(alike, key=lambda other: (other.at_ms, other.id), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A module's receive power tied to a calibrated meter.

    `correction` is meter - module: add it to what the module reports. It holds for `module_id`
    only (None: the switch does not name its modules).
    """

    link: LinkName
    direction: Direction
    at_ms: int
    correction: Db
    module_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Transmit - receive of one direction with both modules joined by one short cord.

    What the link loses is then its transmit - receive less this: the constant errors of both
    modules are gone. It holds for these two modules only.
    """

    link: LinkName
    direction: Direction
    at_ms: int
    difference: Db
    module_ids: tuple[str | None, str | None] = (None, None)
