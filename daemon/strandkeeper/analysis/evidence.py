"""The facts that speak for a finding, each with its unit fixed by its kind."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from strandkeeper.analysis import cause_facts, errors, laser
from strandkeeper.analysis.about import About, behind_this_link
from strandkeeper.analysis.cause_table import Fact
from strandkeeper.analysis.step_findings import recent_jumps
from strandkeeper.analysis.swing import swing_of
from strandkeeper.analysis.times_down import FORTNIGHT_HOURS, times_down
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import Evidence, EvidenceKind, FindingKind
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import AdminStatus, Media

__all__ = ["gather"]


POWER_MATTERS: Final = frozenset(
    {FindingKind.LINK_DOWN, FindingKind.LIGHT_LOST, FindingKind.NO_ANSWER, FindingKind.RESTARTS}
)
FEW_DAMAGED: Final = 400  # frames; beyond it chance moves the share by less than a tenth
MOVED_DB: Final = 0.5
SHOWN_DB_PER_C: Final = 0.005
Gatherer = Callable[[About], Iterator[Evidence]]


def gather(about: About, kind: FindingKind) -> tuple[Evidence, ...]:
    """Everything known that bears on one finding, in the order it is told.

    Parameters
    ----------
    about : About
        The finding in its surroundings [-].
    kind : FindingKind
        Which finding [-].

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
    >>> from strandkeeper.analysis.state import LinkState
    >>> from strandkeeper.model.link import LinkFacts
    >>> from strandkeeper.model.names import LinkName
    >>> about = About(facts=LinkFacts(name=LinkName("jetty")), state=LinkState(), end=End.A)
    >>> [item.kind.value for item in gather(about, FindingKind.MODULE_MISSING)]
    ['module-not-present']
    """
    return (*GATHERERS.get(kind, _nothing)(about), *_supply(about, kind))


def _supply(about: About, kind: FindingKind) -> Iterator[Evidence]:
    """What the switch of a silent or restarted end said of its power, where that bears on it."""
    if kind in POWER_MATTERS:
        for end in cause_facts.ends_in_need(about):
            text = about.facts.supply[end]
            yield Evidence(kind=EvidenceKind.SUPPLY_IN_NEED, end=end, text=text)


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


def _loss_now(about: About) -> Iterator[Evidence]:
    """What has been added, whether the sender moved, whether the other direction did too."""
    slow, direction = about.slow, about.direction
    if direction is None:
        return
    if slow.added != MISSING:
        value = slow.added / 1000
        yield Evidence(kind=EvidenceKind.ADDED_LOSS, direction=direction, value=value)
    sent = laser.sent_change(about.state.slow.ends[direction.sender])
    if sent is not None and abs(sent) >= MOVED_DB:
        yield Evidence(kind=EvidenceKind.TRANSMITTER_MOVED, end=direction.sender, value=sent)
    elif sent is not None:
        yield Evidence(kind=EvidenceKind.TRANSMITTER_STEADY, end=direction.sender)
    yield from _ways(about, direction)


def _ways(about: About, direction: Direction) -> Iterator[Evidence]:
    facts = cause_facts.facts_of(about, FindingKind.ADDED_LOSS)
    if Fact.BOTH_WAYS in facts:
        yield Evidence(kind=EvidenceKind.BOTH_DIRECTIONS)
    elif Fact.ONE_WAY in facts:
        yield Evidence(kind=EvidenceKind.ONE_DIRECTION, direction=direction)
    if Fact.SINGLE_STRAND in facts and Fact.ALIKE in facts:
        yield Evidence(kind=EvidenceKind.ALIKE_AT_BOTH_WAVELENGTHS)
    if Fact.SINGLE_STRAND in facts and Fact.WORSE_LONGER in facts:
        both = [about.slow_of(way).added / 1000 for way in (Direction.AB, Direction.BA)]
        value = abs(both[0] - both[1])
        yield Evidence(kind=EvidenceKind.WORSE_AT_LONGER_WAVELENGTH, value=value)


def _drift(about: About) -> Iterator[Evidence]:
    note = about.slow.trend
    value = note.value / 1000
    yield Evidence(kind=EvidenceKind.SLOPE, direction=about.direction, value=value)
    if not note.season_excluded:
        yield Evidence(kind=EvidenceKind.SEASON_NOT_EXCLUDED)
    yield from _loss_now(about)


def _step(about: About) -> Iterator[Evidence]:
    steps = about.slow.steps
    if steps:
        value = steps[-1].size / 1000
        yield Evidence(kind=EvidenceKind.CHANGE, direction=about.direction, value=value)
    yield from _loss_now(about)


def _repeated(about: About) -> Iterator[Evidence]:
    jumps = len(recent_jumps(about.slow, about.state.live.last_ms))
    yield Evidence(kind=EvidenceKind.STEPS, direction=about.direction, value=float(jumps))
    yield from _loss_now(about)


def _flicker(about: About) -> Iterator[Evidence]:
    spreads = [w.spread for w in about.slow.hour if w.spread != MISSING]
    if spreads:
        value = max(spreads) * 1.2533 / 1000
        yield Evidence(kind=EvidenceKind.SPREAD, direction=about.direction, value=value)
    yield from _powers(about)


def _weather(about: About) -> Iterator[Evidence]:
    slow, direction = about.slow, about.direction
    value = swing_of(slow) / 1000
    yield Evidence(kind=EvidenceKind.SWING, direction=direction, value=value)
    per_c = max(slow.weather[0], slow.weather[1], key=abs) / 10
    if slow.weather[5] and abs(per_c) >= SHOWN_DB_PER_C:
        yield Evidence(kind=EvidenceKind.FOLLOWS_TEMPERATURE, direction=direction, value=per_c)


def _freezing(about: About) -> Iterator[Evidence]:
    slow, direction = about.slow, about.direction
    value = slow.cold[1] / 1000
    yield Evidence(kind=EvidenceKind.CHANGE, direction=direction, value=value)
    yield Evidence(kind=EvidenceKind.NEAR_FREEZING, direction=direction)


def _damage(about: About) -> Iterator[Evidence]:
    for way in (Direction.AB, Direction.BA):
        count = float(len(about.slow_of(way).steps))
        yield Evidence(kind=EvidenceKind.STEPS, direction=way, value=count)
    yield Evidence(kind=EvidenceKind.BOTH_DIRECTIONS)


def _module(about: About) -> Iterator[Evidence]:
    if about.end is None:
        return
    end = about.state.slow.ends[about.end]
    change = laser.bias_change(end)
    figures = (
        (EvidenceKind.BIAS_CHANGE, None if change is None else 100 * change),
        (EvidenceKind.TRANSMITTER_MOVED, laser.sent_change(end)),
        (EvidenceKind.BIAS, None if end.bias == MISSING else end.bias / 1000),
        (EvidenceKind.TEMPERATURE, None if end.temp == MISSING else end.temp / 100),
        (EvidenceKind.SUPPLY, None if end.vcc == MISSING else end.vcc / 10_000),
    )
    for kind, value in figures:
        if value is not None:
            yield Evidence(kind=kind, end=about.end, value=value)


def _pair(about: About) -> Iterator[Evidence]:
    yield Evidence(kind=EvidenceKind.BOTH_DARK)
    yield Evidence(kind=EvidenceKind.SINCE_FIRST_DAY)
    for end in (End.A, End.B):
        value = about.live(end).tx / 1000
        yield Evidence(kind=EvidenceKind.TRANSMIT_POWER, end=end, value=value)


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
    slow = about.slow
    yield from _loss_now(about)
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
    if frames and 0 < damaged < FEW_DAMAGED:
        least, most = errors.ratio_limits(damaged, frames)
        yield Evidence(kind=EvidenceKind.ERROR_RATIO_LEAST, direction=direction, value=least)
        yield Evidence(kind=EvidenceKind.ERROR_RATIO_MOST, direction=direction, value=most)
    yield from _expected(about)
    yield from _how_errors_come(about)
    if about.facts.pings:
        yield Evidence(kind=EvidenceKind.LARGE_PINGS_LOST, text=about.facts.pings)
    yield from _powers(about)


def _expected(about: About) -> Iterator[Evidence]:
    """Margin in hand where so much light lets no such errors be expected."""
    direction, rx = about.direction, about.receiver
    if direction is None or rx.rx_code != PowerCode.MEASURED:
        return
    limit = about.facts.direction(direction).limits.sensitivity
    if limit is not None and not cause_facts.is_weak(about, direction):
        value = rx.rx / 1000 - limit.value
        yield Evidence(kind=EvidenceKind.MARGIN_IN_HAND, direction=direction, value=value)


def _how_errors_come(about: About) -> Iterator[Evidence]:
    """Whether they come in bursts, and whether with weaker light."""
    found = errors.dispersion(about.slow)
    if found is not None:
        index, chance = found
        by_chance, in_bursts = EvidenceKind.ERRORS_BY_CHANCE, EvidenceKind.ERRORS_IN_BURSTS
        kind = by_chance if index <= chance else in_bursts
        yield Evidence(kind=kind, direction=about.direction, value=index)
    weaker = errors.light_at_errors(about.slow)
    if weaker is not None:
        yield Evidence(
            kind=EvidenceKind.LIGHT_AT_ERRORS, direction=about.direction, value=weaker / 1000
        )


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
    count = times_down(about.state.live, FORTNIGHT_HOURS)
    yield Evidence(kind=EvidenceKind.FLAPS, value=float(count))


def _misfits(about: About) -> Iterator[Evidence]:
    for misfit in about.facts.misfits:
        yield Evidence(kind=EvidenceKind.MISFIT, text=misfit.sentence)


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
    FindingKind.DRIFT: _drift,
    FindingKind.STEP: _step,
    FindingKind.REPEATED_STEPS: _repeated,
    FindingKind.FLICKER: _flicker,
    FindingKind.DAILY_SWING: _weather,
    FindingKind.FREEZING: _freezing,
    FindingKind.DAMAGE_IN_PROGRESS: _damage,
    FindingKind.TRANSMIT_LOW: _module,
    FindingKind.LASER_AGEING: _module,
    FindingKind.TEMPERATURE: _module,
    FindingKind.SUPPLY: _module,
    FindingKind.PAIR_NOT_CROSSED: _pair,
    FindingKind.WRONG_PART: _misfits,
}
