"""A link and its two ends, as the owner describes them and as the analysis needs them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from strandkeeper.model.names import Direction, End, LinkName, PortName, SwitchName
from strandkeeper.optics.units import Db, Dbm

__all__ = [
    "DirectionFacts",
    "LimitOrigin",
    "Link",
    "LinkFacts",
    "Misfit",
    "PlannedLoss",
    "PortEnd",
    "ReceiverLimits",
    "Thresholds",
    "links_on_the_way",
]


class LimitOrigin(StrEnum):
    """Where sensitivity and overload came from; first found wins, always shown."""

    OWNER = "owner"
    PMD_NAMED = "pmd-named"
    PMD_RECOGNISED = "pmd-recognised"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiverLimits:
    """Weakest and strongest light the receiver can use. None: unknown, so no margin.

    `source` is a sentence for the screen: PMD name, clause, tag. `overload_needs_errors`: launch
    max equals receive max in this class, so passing overload is a finding only with errors.
    """

    sensitivity: Dbm | None = None
    overload: Dbm | None = None
    origin: LimitOrigin = LimitOrigin.UNKNOWN
    source: str = "unknown: name the module type or its sensitivity"
    overload_needs_errors: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLoss:
    """What the cable should lose by the book, one direction."""

    expected: Db
    limit: Db
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PortEnd:
    """One end of a link. `switch` and `port` None: an unmanaged end."""

    name: str
    switch: SwitchName | None = None
    port: PortName | None = None
    pmd: str | None = None
    sensitivity: Dbm | None = None
    overload: Dbm | None = None
    wavelength_nm: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One fibre connection as the owner configured it.

    `strands` is 2 (one fibre a direction) or 1 (two wavelengths on one). `strand_ab`/`strand_ba`
    are the owner's labels or TIA-598 colours. `near` is the end the computer stands at: the other
    end's switch is reached through this link, None if neither is.
    """

    name: LinkName
    a: PortEnd
    b: PortEnd
    strands: int = 2
    strand_ab: str = ""
    strand_ba: str = ""
    length_m: float | None = None
    fibre: str = "G.652.D"
    matings: int = 2
    splices: int = 0
    extra: Db = Db(0.0)
    extra_note: str = ""
    near: End | None = None
    behind: LinkName | None = None

    def end(self, end: End) -> PortEnd:
        """The description of one end."""
        return self.a if end is End.A else self.b

    def direction_name(self, direction: Direction) -> str:
        """The direction in the owner's words, as every screen shows it."""
        return f"{self.end(direction.sender).name} → {self.end(direction.receiver).name}"

    def strand(self, direction: Direction) -> str:
        """The label of the strand that carries a direction, empty if the owner gave none."""
        return self.strand_ab if direction is Direction.AB else self.strand_ba


@dataclass(frozen=True, slots=True, kw_only=True)
class Thresholds:
    """When a finding is made (common practice, no source; every one configurable)."""

    reserve_warn: Db = Db(6.0)
    reserve_urgent: Db = Db(3.0)
    reserve_warn_anchored: Db = Db(4.0)
    reserve_urgent_anchored: Db = Db(1.0)
    added_loss_note: Db = Db(0.5)
    added_loss_warn: Db = Db(1.0)
    added_loss_warn_s: int = 30 * 60
    added_loss_urgent: Db = Db(3.0)
    added_loss_urgent_s: int = 5 * 60
    added_loss_clear_s: int = 2 * 3600
    errors_warn_frames: int = 10
    errors_urgent_ratio: float = 1e-4
    errors_urgent_s: int = 5 * 60
    no_answer_misses: int = 3
    no_answer_s: int = 180
    clear_steady_s: int = 600
    link_down_tell_s: int = 60
    restarts: int = 2
    restarts_window_s: int = 7 * 86400
    flaps_day: int = 3
    flaps_days_of_14: int = 3
    flap_hold_back: float = 3.0
    flap_release: float = 1.0
    flap_half_life_s: int = 900
    flap_hold_most_s: int = 3600
    flicker_ratio: float = 3.0
    flicker_spread: Db = Db(0.2)
    flicker_peak: Db = Db(1.0)
    daily_swing: Db = Db(0.5)
    temp_low_c: float = 0.0
    temp_warn_c: float = 70.0
    temp_urgent_c: float = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionFacts:
    """What is known of one direction apart from its readings."""

    limits: ReceiverLimits = field(default_factory=ReceiverLimits)
    accuracy: Db = Db(3.0)
    anchored: bool = False
    planned: PlannedLoss | None = None
    wavelength_nm: int | None = None
    ber_objective: float = 1e-12
    line_rate_bd: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """Parts that cannot work together: a sentence that names the ends, and whether it is sure."""

    sentence: str
    certain: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkFacts:
    """Everything `advance` may know of a link apart from its rows.

    `misfits`: parts that do not fit together by what the owner and the switches say of them.
    `supply`: by end, what its switch last said of a supply that may soon end, else empty. `pings`:
    what pings across the link say while only the large ones are lost, else empty.
    """

    name: LinkName
    ab: DirectionFacts = field(default_factory=DirectionFacts)
    ba: DirectionFacts = field(default_factory=DirectionFacts)
    strands: int = 2
    near: End | None = None
    managed: tuple[bool, bool] = (True, True)
    thresholds: Thresholds = field(default_factory=Thresholds)
    misfits: tuple[Misfit, ...] = ()
    supply: tuple[str, str] = ("", "")
    pings: str = ""

    def direction(self, direction: Direction) -> DirectionFacts:
        """The facts of one direction."""
        return self.ab if direction is Direction.AB else self.ba


def links_on_the_way(name: LinkName, links: Mapping[LinkName, Link]) -> Iterator[LinkName]:
    """The links through which this one's switches are reached, the nearest first.

    Ends at a link that is not known and at one that was met already: links that name each other
    do not loop.
    """
    met = {name}
    here = links[name].behind if name in links else None
    while here is not None and here not in met:
        met.add(here)
        yield here
        here = links[here].behind if here in links else None
