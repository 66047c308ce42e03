"""A new link before it is handed over: ends, modules, light, crossing, levels, losses, errors."""

from __future__ import annotations

from strandkeeper.model.commissioning import ListItem, ListKind
from strandkeeper.model.link import LinkFacts
from strandkeeper.model.names import Direction, End
from strandkeeper.model.power import Measured, NoLight, NotReported
from strandkeeper.model.reading import OperStatus
from strandkeeper.model.rework import Outcome
from strandkeeper.model.verdict import DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db

__all__ = ["checklist"]


def checklist(
    facts: LinkFacts, verdict: LinkVerdict, *, bench: dict[Direction, Db] | None = None
) -> tuple[ListItem, ...]:
    """Every line of the checklist as the link stands now.

    Parameters
    ----------
    facts : LinkFacts [-]
        What is known of the link apart from its readings.
    verdict : LinkVerdict [-]
        What the analysis says of it now.
    bench : dict of Direction to Db, or None [dB]
        Transmit - receive of the same modules over one short cord, where that was measured.

    Returns
    -------
    tuple of ListItem [dB]
        In the order in which a person would look.

    Raises
    ------
    Nothing.

    Notes
    -----
    Both directions dark with both lasers on is a pair that is not crossed; on one strand there is
    nothing to cross. Overload is only a fault with errors where launch and overload are equal.

    Source
    ------
    Crossing: TIA-568.3 polarity, from memory, unconfirmed; loss against the plan as in
    MIL-STD-2042-6B method 6E1; the rest own design, no source.

    Example
    -------
    >>> from strandkeeper.model.names import LinkName
    >>> verdict = LinkVerdict(
    ...     link=LinkName("x"), at_ms=0, a=EndState(end=End.A), b=EndState(end=End.B),
    ...     ab=DirectionVerdict(direction=Direction.AB),
    ...     ba=DirectionVerdict(direction=Direction.BA))
    >>> checklist(LinkFacts(name=LinkName("x")), verdict)[0].outcome.value
    'pending'
    """
    found = [_answers(facts, verdict.end(end)) for end in End]
    found += [_module(verdict, end) for end in End]
    found += [_light(verdict.direction(way)) for way in Direction]
    if facts.strands != 1:
        found.append(_crossed(verdict))
    up = {True: Outcome.PASSED, False: Outcome.FAILED, None: Outcome.PENDING}[verdict.up]
    found.append(ListItem(kind=ListKind.UP, outcome=up))
    for way in Direction:
        mine = verdict.direction(way)
        found.append(_overload(facts, mine))
        found.append(_margin(facts, mine))
        found.append(_loss(facts, mine, (bench or {}).get(way)))
        found.append(_errors(mine))
    return tuple(found)


def _answers(facts: LinkFacts, state: EndState) -> ListItem:
    if not facts.managed[state.end]:
        outcome = Outcome.UNKNOWN
    else:
        outcome = {True: Outcome.PASSED, False: Outcome.FAILED, None: Outcome.PENDING}[
            state.answers
        ]
    return ListItem(kind=ListKind.ANSWERS, outcome=outcome, end=state.end)


def _module(verdict: LinkVerdict, end: End) -> ListItem:
    """Seen: it reports something. A port that says 'not present' has none."""
    state = verdict.end(end)
    sends = verdict.direction(Direction.seen_by(end.other)).tx
    gets = verdict.direction(Direction.seen_by(end)).rx
    if state.oper is OperStatus.NOT_PRESENT:
        outcome = Outcome.FAILED
    elif not isinstance(gets, NotReported) or not isinstance(sends, NotReported):
        outcome = Outcome.PASSED
    else:
        outcome = Outcome.UNKNOWN
    return ListItem(kind=ListKind.MODULE, outcome=outcome, end=end)


def _light(mine: DirectionVerdict) -> ListItem:
    if isinstance(mine.rx, Measured):
        outcome = Outcome.PASSED
    else:
        outcome = Outcome.FAILED if isinstance(mine.rx, NoLight) else Outcome.UNKNOWN
    return ListItem(kind=ListKind.LIGHT, outcome=outcome, direction=mine.direction)


def _crossed(verdict: LinkVerdict) -> ListItem:
    ways = [verdict.direction(way) for way in Direction]
    if any(isinstance(mine.rx, Measured) for mine in ways):
        outcome = Outcome.PASSED
    elif all(isinstance(m.rx, NoLight) and isinstance(m.tx, Measured) for m in ways):
        outcome = Outcome.FAILED
    else:
        outcome = Outcome.UNKNOWN
    return ListItem(kind=ListKind.CROSSED, outcome=outcome)


def _overload(facts: LinkFacts, mine: DirectionVerdict) -> ListItem:
    if mine.headroom is None:
        return ListItem(kind=ListKind.OVERLOAD, outcome=Outcome.UNKNOWN, direction=mine.direction)
    lenient = facts.direction(mine.direction).limits.overload_needs_errors
    bad = mine.headroom.value < 0 and (not lenient or bool(mine.errors_24h))
    return ListItem(
        kind=ListKind.OVERLOAD,
        outcome=Outcome.FAILED if bad else Outcome.PASSED,
        direction=mine.direction,
        got=mine.headroom.value,
        limit=0.0,
    )


def _margin(facts: LinkFacts, mine: DirectionVerdict) -> ListItem:
    if mine.margin is None:
        return ListItem(kind=ListKind.MARGIN, outcome=Outcome.UNKNOWN, direction=mine.direction)
    limits = facts.thresholds
    keep = limits.reserve_warn_anchored if mine.anchored else limits.reserve_warn
    return ListItem(
        kind=ListKind.MARGIN,
        outcome=Outcome.PASSED if mine.margin >= keep else Outcome.FAILED,
        direction=mine.direction,
        got=mine.margin.value,
        limit=keep.value,
    )


def _loss(facts: LinkFacts, mine: DirectionVerdict, bench: Db | None) -> ListItem:
    planned = facts.direction(mine.direction).planned
    if mine.loss is None or planned is None:
        return ListItem(kind=ListKind.LOSS, outcome=Outcome.UNKNOWN, direction=mine.direction)
    loss = mine.loss if bench is None else mine.loss - bench
    within = round(loss.value - planned.limit.value, 3) <= 0
    return ListItem(
        kind=ListKind.LOSS,
        outcome=Outcome.PASSED if within else Outcome.FAILED,
        direction=mine.direction,
        got=loss.value,
        limit=planned.limit.value,
    )


def _errors(mine: DirectionVerdict) -> ListItem:
    if mine.errors_24h is None:
        return ListItem(kind=ListKind.ERRORS, outcome=Outcome.UNKNOWN, direction=mine.direction)
    return ListItem(
        kind=ListKind.ERRORS,
        outcome=Outcome.FAILED if mine.errors_24h else Outcome.PASSED,
        direction=mine.direction,
        got=float(mine.errors_24h),
        limit=0.0,
    )
