"""The facts that speak for a finding, each with its unit fixed by its kind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from strandkeeper.analysis import errors
from strandkeeper.analysis.slow import DirectionSlow
from strandkeeper.analysis.state import EndLive, LinkState
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import Evidence, EvidenceKind, FindingKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import AdminStatus, Media

__all__ = ["About", "gather"]


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """One finding in its surroundings."""

    facts: LinkFacts
    state: LinkState
    direction: Direction | None = None
    end: End | None = None
    since_ms: int = MISSING

    def live(self, end: End) -> EndLive:
        """The newest of an end."""
        return self.state.live.ends[end]

    @property
    def slow(self) -> DirectionSlow:
        """The slow part of the finding's direction; raises ValueError for a finding without."""
        if self.direction is None:
            raise ValueError("this finding is of no direction")
        return self.state.slow.directions[0 if self.direction is Direction.AB else 1]

    @property
    def receiver(self) -> EndLive:
        """The end that measures the direction."""
        if self.direction is None:
            raise ValueError("this finding is of no direction")
        return self.live(self.direction.receiver)


Gatherer = Callable[[About], Iterator[Evidence]]


def gather(about: About, kind: FindingKind) -> tuple[Evidence, ...]:
    """Everything known that bears on one finding, in the order it is told.

    Parameters
    ----------
    about : About
        The finding in its surroundings.
    kind : FindingKind
        Which finding.

    Returns
    -------
    tuple of Evidence
        Values in the unit of their kind [see EvidenceKind].

    Raises
    ------
    Nothing.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> from strandkeeper.model.names import LinkName
    >>> about = About(facts=LinkFacts(name=LinkName("jetty")), state=LinkState(), end=End.A)
    >>> [item.kind.value for item in gather(about, FindingKind.MODULE_MISSING)]
    ['module-not-present']
    """
    return tuple(GATHERERS.get(kind, _nothing)(about))


def _nothing(about: About) -> Iterator[Evidence]:
    del about
    yield from ()


def _powers(about: About) -> Iterator[Evidence]:
    direction, end = about.direction, about.receiver
    if direction is None:
        return
    if end.rx_code == PowerCode.MEASURED:
        value = end.rx / 1000
        yield Evidence(kind=EvidenceKind.RECEIVE_POWER, end=direction.receiver, value=value)
    elif end.rx_code == PowerCode.NO_LIGHT:
        yield Evidence(kind=EvidenceKind.NO_LIGHT_HERE, end=direction.receiver)
    sender = about.live(direction.sender)
    if sender.answers and sender.tx_code == PowerCode.MEASURED:
        value = sender.tx / 1000
        yield Evidence(kind=EvidenceKind.TRANSMIT_POWER, end=direction.sender, value=value)


def _margin(about: About) -> Iterator[Evidence]:
    yield from _powers(about)
    limits = about.facts.direction(about.direction or Direction.AB).limits
    rx = about.receiver
    if limits.sensitivity is None:
        return
    yield Evidence(kind=EvidenceKind.SENSITIVITY, value=limits.sensitivity.value)
    if rx.rx_code == PowerCode.MEASURED:
        yield Evidence(kind=EvidenceKind.MARGIN, value=rx.rx / 1000 - limits.sensitivity.value)
    yield Evidence(kind=EvidenceKind.RESERVE, value=about.facts.thresholds.reserve_warn.value)


def _overload(about: About) -> Iterator[Evidence]:
    yield from _powers(about)
    limit = about.facts.direction(about.direction or Direction.AB).limits.overload
    if limit is None:
        return
    yield Evidence(kind=EvidenceKind.OVERLOAD_LIMIT, value=limit.value)
    if about.receiver.rx_code == PowerCode.MEASURED:
        yield Evidence(kind=EvidenceKind.HEADROOM, value=limit.value - about.receiver.rx / 1000)


def _added_loss(about: About) -> Iterator[Evidence]:
    slow, direction = about.slow, about.direction
    if slow.added != MISSING:
        kind = EvidenceKind.ADDED_LOSS
        yield Evidence(kind=kind, direction=direction, value=slow.added / 1000)
    yield from _powers(about)
    if slow.baseline is not None and not slow.baseline.firm and not slow.baseline.by_owner:
        yield Evidence(kind=EvidenceKind.PROVISIONAL_BASELINE)


def _errors(about: About) -> Iterator[Evidence]:
    damaged, frames = errors.count_errors(about.slow)
    direction = about.direction
    yield Evidence(kind=EvidenceKind.ERROR_FRAMES, direction=direction, value=float(damaged))
    if frames:
        yield Evidence(kind=EvidenceKind.FRAMES, direction=direction, value=float(frames))
        ratio = damaged / (frames + damaged)
        yield Evidence(kind=EvidenceKind.ERROR_RATIO, direction=direction, value=ratio)
    yield from _powers(about)


def _link_down(about: About) -> Iterator[Evidence]:
    for which in (End.A, End.B):
        end = about.live(which)
        if not about.facts.managed[which]:
            continue
        if end.answers is False:
            yield Evidence(kind=EvidenceKind.FAR_END_SILENT, end=which)
            continue
        yield from _port(about, which)


def _port(about: About, which: End) -> Iterator[Evidence]:
    end = about.live(which)
    if end.admin == AdminStatus.DOWN:
        yield Evidence(kind=EvidenceKind.PORT_OFF_BY_A_PERSON, end=which)
    elif end.module_gone:
        yield Evidence(kind=EvidenceKind.MODULE_NOT_PRESENT, end=which)
    elif end.oper != MISSING:
        yield Evidence(kind=EvidenceKind.PORT_DOWN, end=which)
    if end.rx_code == PowerCode.NO_LIGHT:
        yield Evidence(kind=EvidenceKind.NO_LIGHT_HERE, end=which)
    elif end.rx_code == PowerCode.MEASURED and end.moved_ms > about.state.live.up_since_ms:
        value = end.rx / 1000
        yield Evidence(kind=EvidenceKind.LIGHT_HERE, end=which, value=value)
    if end.media == Media.NOT_AVAILABLE:
        yield Evidence(kind=EvidenceKind.MEDIA_NOT_AVAILABLE, end=which)
    elif end.media == Media.REMOTE_FAULT:
        yield Evidence(kind=EvidenceKind.MEDIA_REMOTE_FAULT, end=which)


def _no_answer(about: About) -> Iterator[Evidence]:
    if about.end is None:
        return
    end = about.live(about.end)
    yield Evidence(kind=EvidenceKind.MISSES, end=about.end, value=float(end.misses))
    lasted = (end.asked_ms - end.miss_since_ms) / 1000 if end.miss_since_ms != MISSING else 0.0
    yield Evidence(kind=EvidenceKind.DURATION, end=about.end, value=lasted)
    if behind_this_link(about):
        name = about.facts.name
        yield Evidence(kind=EvidenceKind.REACHED_THROUGH, end=about.end, text=name)


def behind_this_link(about: About) -> bool:
    """Whether the silent end is reached through this link, and the link is down."""
    near = about.facts.near
    return near is not None and about.end is near.other and about.state.live.up is False


def _restarts(about: About) -> Iterator[Evidence]:
    if about.end is None:
        return
    end, limits = about.live(about.end), about.facts.thresholds
    since = about.state.live.last_ms - limits.restarts_window_s * 1000
    count = sum(boot > since for boot in end.boots)
    yield Evidence(kind=EvidenceKind.RESTARTS, end=about.end, value=float(count))
    if end.uptime != MISSING:
        yield Evidence(kind=EvidenceKind.UPTIME, end=about.end, value=end.uptime / 100)


def _flaps(about: About) -> Iterator[Evidence]:
    live = about.state.live
    since = live.last_ms - 14 * 86_400_000
    count = sum(note.from_ms > since for note in (*live.flaps, *live.outages))
    yield Evidence(kind=EvidenceKind.FLAPS, value=float(count))


def _module_missing(about: About) -> Iterator[Evidence]:
    yield Evidence(kind=EvidenceKind.MODULE_NOT_PRESENT, end=about.end)


GATHERERS: Final[dict[FindingKind, Gatherer]] = {
    FindingKind.ADDED_LOSS: _added_loss,
    FindingKind.MARGIN_LOW: _margin,
    FindingKind.OVERLOAD: _overload,
    FindingKind.LIGHT_LOST: _powers,
    FindingKind.ERRORS: _errors,
    FindingKind.LINK_DOWN: _link_down,
    FindingKind.NO_ANSWER: _no_answer,
    FindingKind.RESTARTS: _restarts,
    FindingKind.FLAPPING: _flaps,
    FindingKind.MODULE_MISSING: _module_missing,
}
