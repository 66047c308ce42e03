"""Which facts of the cause table are so, for one finding in its surroundings."""

from __future__ import annotations

from typing import Final

from strandkeeper.analysis import laser, swing
from strandkeeper.analysis.about import About, behind_this_link
from strandkeeper.analysis.cause_table import Fact
from strandkeeper.analysis.conditions import key_of
from strandkeeper.analysis.errors import count_errors
from strandkeeper.analysis.slow import DirectionSlow
from strandkeeper.analysis.state import EndLive
from strandkeeper.model.block import MISSING, PowerCode
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.names import Direction, End
from strandkeeper.model.reading import AdminStatus
from strandkeeper.optics.error_ratio import error_ratio_band
from strandkeeper.optics.units import Db

LASER_ON_MDBM: Final = -20_000
SENT_LESS_MDB: Final = -500
WEEK_MS: Final = 7 * 86_400_000
SAME_EVENT_MS: Final = 30 * 60_000
MINUTE_MS: Final = 60_000
ERRORS_EXPECTED: Final = 1e-11  # an error ratio worth a frame in minutes on a gigabit link
FRAME_BITS: Final = 12_000  # of a long frame; one bit damages it
DAWN: Final = 3
HOUR_MS: Final = 3_600_000
BEFORE_H, AFTER_H = 5, 2
SMALL_MDB: Final = 700
LEFT_MDB: Final = 500
SWING_MDB: Final = 400
JUMPS: Final = 6


def facts_of(about: About, kind: FindingKind) -> frozenset[Fact]:
    """Every fact that is so."""
    facts = _link_facts(about) | _light_facts(about)
    if kind is FindingKind.RESTARTS:
        facts |= _restart_facts(about)
    directions = [about.direction] if about.direction is not None else [Direction.AB, Direction.BA]
    for direction in directions:
        facts |= _way_facts(about, direction)
    if about.direction is not None:
        facts |= _loss_facts(about, about.direction, kind)
    return frozenset(facts)


def _link_facts(about: About) -> set[Fact]:
    facts = set()
    ends = [about.live(end) for end in (End.A, End.B) if about.facts.managed[end]]
    if any(end.admin == AdminStatus.DOWN for end in ends):
        facts.add(Fact.PORT_OFF)
    if any(end.module_gone for end in ends):
        facts.add(Fact.MODULE_GONE)
    if about.facts.strands == 1:
        facts.add(Fact.SINGLE_STRAND)
    if not about.state.live.up_ever:
        facts.add(Fact.NEVER_UP)
    if about.facts.misfits:
        facts.add(Fact.MISFIT)
    if any(misfit.certain for misfit in about.facts.misfits):
        facts.add(Fact.MISFIT_SURE)
    if not any(end.lit_ever for end in ends):
        facts.add(Fact.NEVER_LIT)
    if len(ends) == 2 and all(end.answers for end in ends):
        facts.add(Fact.BOTH_ANSWER)
    if not all(about.live(end).answers for end in (End.A, End.B)):
        facts.add(Fact.FAR_SILENT)
    if about.end is not None and behind_this_link(about):
        facts.add(Fact.BEHIND_LINK)
    if ends_in_need(about):
        facts.add(Fact.SUPPLY_IN_NEED)
    return facts


def ends_in_need(about: About) -> list[End]:
    """The ends whose supply may soon end: of a link those that are silent, else the finding's."""
    ends = [about.end] if about.end is not None else [e for e in End if not about.live(e).answers]
    return [end for end in ends if about.facts.supply[end]]


def _dark(end: EndLive) -> bool:
    return bool(end.answers) and end.rx_code == PowerCode.NO_LIGHT


def _light_facts(about: About) -> set[Fact]:
    """For a direction: its receiver. For the link: the darker of the ends that answer."""
    facts = set()
    ends = [about.live(End.A), about.live(End.B)]
    if all(_dark(end) for end in ends):
        facts.add(Fact.BOTH_DARK)
    receivers = [about.receiver] if about.direction is not None else ends
    dark = [end for end in receivers if _dark(end)]
    if dark:
        facts.add(Fact.RECEIVER_DARK)
        sender = ends[1 - ends.index(dark[0])]
        facts |= _laser(sender)
    since = about.since_ms if about.since_ms != MISSING else 0
    lit = [
        end
        for end in receivers
        if end.answers and end.rx_code == PowerCode.MEASURED and end.moved_ms > since
    ]
    if lit and not dark:
        facts.add(Fact.LIGHT_ARRIVES)
    return facts


def _laser(sender: EndLive) -> set[Fact]:
    if not sender.answers:
        return set()
    if sender.tx_code == PowerCode.MEASURED:
        return {Fact.SENDER_LIT if sender.tx > LASER_ON_MDBM else Fact.SENDER_OFF}
    return {Fact.SENDER_OFF} if sender.tx_code == PowerCode.NO_LIGHT else set()


def _way_facts(about: About, direction: Direction) -> set[Fact]:
    facts = set()
    active = about.state.live.active
    for kind, fact in (
        (FindingKind.FLICKER, Fact.RESTLESS),
        (FindingKind.REPEATED_STEPS, Fact.REPEATED),
        (FindingKind.FREEZING, Fact.COLD),
        (FindingKind.DAILY_SWING, Fact.SWINGS),
        (FindingKind.ERRORS, Fact.HAS_ERRORS),
        (FindingKind.OVERLOAD, Fact.OVERLOADED),
    ):
        if key_of(kind, direction) in active:
            facts.add(fact)
    if is_weak(about, direction):
        facts.add(Fact.LIGHT_WEAK)
    return facts


def is_weak(about: About, direction: Direction) -> bool:
    """Whether so little light arrives that errors are to be expected, within the accuracy."""
    known = about.facts.direction(direction)
    slow = about.slow_of(direction)
    if known.limits.sensitivity is None or slow.rx == MISSING:
        return False
    rx = slow.rx
    if slow.errors and slow.errors[-1][3] != MISSING:
        rx = min(rx, slow.errors[-1][3])
    margin = Db(rx / 1000 - known.limits.sensitivity.value)
    band = error_ratio_band(margin, accuracy=known.accuracy, objective=known.ber_objective)
    damaged, frames = count_errors(slow)
    seen = damaged / (damaged + frames) / FRAME_BITS if frames else 0.0
    return band.worst > max(ERRORS_EXPECTED, seen / 10)


def _restart_facts(about: About) -> set[Fact]:
    facts = set()
    newest = about.state.live.last_ms
    a, b = ([t for t in end.boots if t > newest - WEEK_MS] for end in about.state.live.ends)
    if any(abs(one - other) < MINUTE_MS for one in a for other in b):
        facts.add(Fact.SAME_MINUTE)
    if about.end is not None and _before_dawn(about, about.end):
        facts.add(Fact.BEFORE_DAWN)
    return facts


def _before_dawn(about: About, end: End) -> bool:
    """Three restarts or more, all within the hours before the module is coldest.

    The record knows no local time: the coldest hour of the day stands for dawn.
    """
    boots = about.live(end).boots[-10:]
    if len(boots) < DAWN:
        return False
    slow = about.slow_of(Direction.seen_by(end))
    hours = [h for h in slow.hours if h.receiver_temp != MISSING]
    if len(hours) < 48:
        return False
    sums = [[0, 0] for _ in range(24)]
    for hour in hours:
        entry = sums[hour.start_ms // HOUR_MS % 24]
        entry[0] += hour.receiver_temp
        entry[1] += 1
    means = [total / count if count else float("inf") for total, count in sums]
    dawn = means.index(min(means))
    return all((boot / HOUR_MS - dawn + BEFORE_H) % 24 <= BEFORE_H + AFTER_H for boot in boots)


def _loss_facts(about: About, direction: Direction, kind: FindingKind) -> set[Fact]:
    other = Direction.BA if direction is Direction.AB else Direction.AB
    mine, theirs = about.slow_of(direction), about.slow_of(other)
    too_small = kind is FindingKind.ADDED_LOSS and _too_small(mine)
    kind = FindingKind.DAILY_SWING if _swings(mine) and kind is not FindingKind.DRIFT else kind
    size, twin = _size_of(mine, kind), _size_of(theirs, kind)
    facts = set()
    sent = laser.sent_change(about.state.slow.ends[direction.sender])
    if sent is not None and sent * 1000 < SENT_LESS_MDB:
        facts.add(Fact.SENT_LESS)
    noise = 3 * max(mine.watch.hourly, theirs.watch.hourly, 20)
    if twin > max(0.3 * size, noise) and size > noise:
        facts.add(Fact.BOTH_WAYS)
    elif size > noise and abs(twin) < max(0.2 * size, noise):
        facts.add(Fact.ONE_WAY)
    if too_small:
        facts.add(Fact.TOO_SMALL)
    facts |= _wavelengths(about, size, twin, direction)
    if _swings(mine):
        facts.add(Fact.SWINGS)
        if swing.modules_may(mine) and not mine.cold[1]:
            facts.add(Fact.MODULES_MAY)
        if swing.rises_in_cold(mine):
            facts.add(Fact.COLD)
    return facts


def _swings(slow: DirectionSlow) -> bool:
    return swing.swing_of(slow) > SWING_MDB and swing.follows_temperature(slow)


def _too_small(slow: DirectionSlow) -> bool:
    """Whether added loss is little once what the modules' own temperatures did is taken off."""
    added = slow.added if slow.added != MISSING else 0
    weather = swing.weather_since(slow)
    small = added < SMALL_MDB or added - weather < LEFT_MDB or 2 * weather > added
    return small and not _explained(slow)


def _explained(slow: DirectionSlow) -> bool:
    """Whether a step or a creep stands behind a small added loss, so that it is no wander."""
    return bool(slow.steps) or slow.trend.reported


def _size_of(slow: DirectionSlow, kind: FindingKind) -> int:
    """The size of what is told of a direction [0.001 dB]; a slope in 0.001 dB/month."""
    if kind is FindingKind.FREEZING:
        return slow.cold[1]
    if kind is FindingKind.DAILY_SWING:
        return swing.swing_of(slow)
    if kind is FindingKind.DRIFT:
        return round(slow.trend.value) if slow.trend.window_days else 0
    if kind is FindingKind.REPEATED_STEPS:
        return max((abs(step.size) for step in slow.steps[-JUMPS:]), default=0)
    if kind is FindingKind.STEP and slow.steps:
        return slow.steps[-1].size
    return slow.added if slow.added != MISSING else 0


def wavelength_sizes(about: About, size: int, twin: int, direction: Direction) -> tuple[int, int]:
    """Sizes at the longer and at the shorter wavelength; (0, 0) where they are not known."""
    mine = about.facts.direction(direction).wavelength_nm
    other = Direction.BA if direction is Direction.AB else Direction.AB
    theirs = about.facts.direction(other).wavelength_nm
    if mine is None or theirs is None or mine == theirs:
        return 0, 0
    return (size, twin) if mine > theirs else (twin, size)


def _wavelengths(about: About, size: int, twin: int, direction: Direction) -> set[Fact]:
    longer, shorter = wavelength_sizes(about, size, twin, direction)
    if max(longer, shorter) < 300:
        return set()
    if longer > 1.4 * max(shorter, 1) and longer - shorter > 150:
        return {Fact.WORSE_LONGER}
    if abs(longer - shorter) <= max(0.25 * max(longer, shorter), 100):
        return {Fact.ALIKE}
    return set()
